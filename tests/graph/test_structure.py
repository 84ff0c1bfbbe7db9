from __future__ import annotations

import networkx as nx

from graph.compile import CompiledModel
from graph.structure import fault_path, node_link, structure


def test_every_name_is_a_typed_node_and_every_edge_has_a_kind(ice_maker: CompiledModel) -> None:
    equipment, net = ice_maker.equipment, structure(ice_maker.equipment)
    kinds = {name: data["kind"] for name, data in net.nodes.items()}
    for kind, names in (
        ("component", equipment.components), ("failure_mode", equipment.modes), ("signal", equipment.signals),
        ("condition", equipment.conditions), ("symptom", equipment.symptoms), ("test", equipment.tests),
        ("remedy", equipment.remedies), ("part", equipment.parts),
    ):
        assert {n for n, k in kinds.items() if k == kind} == set(names)
    assert {data["kind"] for data in net.edges.values()} == {
        "fails as", "acts on", "drives", "shows as", "reveals", "fixes", "uses"}


def test_signals_drive_one_another_without_loops(ice_maker: CompiledModel) -> None:
    net = structure(ice_maker.equipment)
    causal = [edge for edge, data in net.edges.items() if data["kind"] in ("acts on", "drives")]
    assert nx.is_directed_acyclic_graph(net.edge_subgraph(causal))


def test_node_link_data_gives_the_same_graph_back(urn: CompiledModel) -> None:
    net = structure(urn.equipment)
    again = nx.node_link_graph(node_link(urn.equipment), edges="edges")
    assert nx.utils.graphs_equal(net, again)


def test_a_fault_reaches_what_is_seen_by_the_signals_it_disturbs(urn: CompiledModel) -> None:
    path = fault_path(urn, "socket.dead", "heat", 0)
    assert path == (("supply", "absent"), ("element_supply", "absent"), ("heat", "none"))


def test_there_is_no_path_to_what_a_fault_leaves_alone(urn: CompiledModel) -> None:
    assert fault_path(urn, "element.scaled", "element_supply", 0) == ()
    assert fault_path(urn, "element.scaled", "element", 0) == ()


def test_every_mode_of_the_ice_maker_disturbs_something_that_can_be_observed(ice_maker: CompiledModel) -> None:
    equipment = ice_maker.equipment
    watched = {o.reveals for o in equipment.observations.values()}
    scenes = range(len(ice_maker.hypotheses.scenes.shares))
    for mode, record in equipment.modes.items():
        seen = record.component in watched or any(
            fault_path(ice_maker, mode, name, scene) for name in watched for scene in scenes)
        assert seen, mode

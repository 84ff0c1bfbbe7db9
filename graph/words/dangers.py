"""What a caller says that comes before every question: fire, gas, electricity, chemicals, someone hurt.

A *cue* is one word, or words of two or three groups, in one sentence. Words that are denied don't count; doubt does:
what was so and no longer is, or is asked, is taken as said. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from graph.words.common import COMMON
from graph.words.instructions import KINDS, Kind
from graph.words.spelling import Spelling
from graph.words.stems import Word, stem, words_of
from graph.words.thesaurus import vocabulary

Groups = tuple[frozenset[str], ...]


def _stems(text: str) -> frozenset[str]:
    return frozenset(stem(w) for w in text.split())


_SMELL = ("smell smells smelling smelt stink stinks stinking reek reeks odour odor whiff pong scent fumes fume stench")
_BURN = ("burn burns burning burnt burned scorch scorched scorching singe singed char charred melt melted "
    "melting smoulder")
_BODY = ("hand hands finger fingers arm arms leg legs eye eyes face foot feet thumb head skin wrist neck himself "
         "herself myself themselves throat mouth chest shoulder knee toe toes knuckle elbow")
_PEOPLE = ("somebody someone he she i we they colleague waiter waitress chef cook customer guest cleaner staff "
    "girl boy "
           "man woman lad lady member manager worker kid child apprentice porter barman nobody anyone")
_POWER = ("electric electrics electricity socket sockets plug cable cables wiring wire wires fusebox mains transformer "
          "electronics electronic control extension lead adapter switchboard terminals isolator")
_WET = ("water wet leak leaks leaking dripping drip drips dripped flood flooded flooding soak soaked spray "
    "sprayed spraying "
        "damp puddle pours pouring soaking soaks runs splash splashed steam condensation lye")
_BREAKER = ("breaker breakers fuse fuses rcd rcbo mcb gfci electric electrics electricity power trip-switch tripswitch "
            "earth leakage")
_TRIP_SWITCH = "breaker breakers fuse fuses rcd rcbo mcb gfci switch"
_CHEMICAL = ("detergent descaler bleach cleaner chemical chemicals acid sanitiser sanitizer soap ammonia chlorine lye "
             "caustic degreaser cleaning rinse deliming limescale-remover disinfectant alkali dishwasher-liquid")
_HARM = ("eye eyes skin splash splashed burn burns burnt burning sting stings stinging cough coughing throat swallow "
         "swallowed drank drunk drink breathe breathing fume fumes mix mixed mixing spill spilled spilt spills "
         "face inhale "
         "inhaled choke choking hand hands mouth vomit rash sprayed squirted")

_CUES: dict[Kind, tuple[tuple[str, ...], ...]] = {
    "smoke_or_fire": (
        ("smoke smokes smoking smokey smoky smouldering smoulders fire flames flaming ablaze alight blaze fireball",),
        ("melted melting melts charred scorched burnt black singed glowing", "plug socket cable lead switch wire "
            "wiring "
         "terminal connector flex board panel"),
    ),
    "burning_smell": (
        (_SMELL, _BURN + " overheat overheating plastic rubber electrics electrical electric wire wiring "
            "insulation hot smoke smoky fishy"),
        (_SMELL, "hot", "dryer getting really very so electric"),
        ("burning burns",),
    ),
    "sparks": (
        ("spark sparks sparked sparking arcing arced arc arcs sparky explode exploded explodes explosion exploding",),
        ("bang", "loud big huge dead then flash"),
        ("popped pop pops", "dead inside then flash loud"),
        ("flash flashes flashed", "bang socket plug crackle crackles crackled pop popped"),
        ("crackle crackles crackling crackled fizz fizzing fizzes fizzed", "switch socket plug electrics "
            "electric panel flash cable "
         "wire box lead board"),
        ("bang blew", "flash smoke electrics socket plug up"),
    ),
    "gas_smell": (
        ("gassy",),
        ("gas", _SMELL + " leak leaks leaking leaked escape escapes escaping hiss hisses hissing alarm detector blew"),
        ("rotten bad", "egg eggs"),
        ("monoxide",),
        ("co", "alarm detector"),
        ("headache headaches dizzy drowsy sick", "oven cooker gas burner flue boiler hob"),
    ),
    "refrigerant": (
        ("refrigerant coolant freon propane isobutane butane fridge freezer",
         "leak leaks leaking leaked escape escaping escapes hiss hissing hisses spray sprayed spraying smell lost gone "
         "everywhere pouring burst squirting"),
        ("hiss hisses hissing hissed", "pipe pipes tube oil oily gas wall hole coil line evaporator back nonstop "
            "freezer"),
        ("puncture punctured pierced pierce stabbed poked drilled nicked holed stuck gouged", "pipe pipes tube "
            "tubes wall liner coil lining "
         "evaporator plate line screwdriver knife"),
        ("oil oily", "hiss hissing hisses"),
    ),
    "chemical": (
        (_CHEMICAL, _HARM),
        ("ammonia",),
        ("acid bleach", "acid bleach descaler"),
        ("swallowed swallow drank drunk", "liquid cleaner cleaning tablet tablets product salt aid"),
        ("fumes fume", "sting stings throat eyes cough choke choking breathe cleaner sick"),
    ),
    "water_on_electrics": (
        (_WET, _POWER),
        (_WET, "power", "strip point socket outlet supply box board"),
        (_WET, "box board panel", "electrics electric electrical control fuse junction"),
        (_WET, "socket outlet", "wall power electrical electric"),
        ("water wet soaked soaking flooded", "switch switches plug wiring lamp fuse"),
    ),
    "breaker": (
        (_BREAKER, "trip trips tripped tripping reset resetting keep keeps blow blows blew blown throw throws "
            "threw knock "
         "knocks knocked pop pops popped drop drops dropped dropping falls again every repeatedly flips flip"),
        ("lights power electricity everything", "goes go went going", "out off", "when whenever every soon"),
        ("takes take took taking knocks throws cuts", "power electric electrics electricity lights", "out off"),
        ("breaker fuse rcd switch", "goes gone went going out", "out off again keeps when every immediately soon "
            "instantly"),
        ("keeps keep always every", "trips trip tripping"),
        (_TRIP_SWITCH, "trip breaker fuse earth leakage safety main", "stay stays hold holds"),
        ("breaker breakers rcd fuse", "stay stays hold holds back"),
        ("trips", "it machine oven freezer out"),
    ),
    "shock": (
        ("electrocuted electrocute electrocution zap zapped zaps jolt jolted jolts tingle tingles tingling "
         "tingly shock "
         "shocked shocks",),
        ("live current voltage charged electrified", "casing case metal body door handle cabinet housing panel "
            "frame lid it steel"),
        ("buzz buzzing prickle prickling", "finger fingers touch hand skin"),
        ("static electricity electric power", "touch touched touching handle lean"),
        ("gives give gave got get getting", "belt kick bite sting zing", "door handle it metal me you touch"),
    ),
    "injury": (
        ("hurt hurts injured injury injuries wounded bleeding bleeds bled blood unconscious collapsed fainted faint "
         "ambulance dizzy nauseous suffocating concussion paramedics hospital",),
        ("cut cuts sliced slashed gashed trapped caught crushed jammed pinched broke broken twisted burn burnt "
         "burned burns "
         "burning lost bruised sprained", _BODY),
        (_PEOPLE, "slipped slip slips fell fallen falls tripped", "floor puddle water over down wet it ice up badly"),
        ("fell fallen dropped landed fall", _BODY),
        ("headache headaches", "since from we everybody all everyone staff"),
        (_PEOPLE, "sick", "since fumes gas smell dizzy"),
        (_PEOPLE, "breathe breathing"),
    ),
    "scald": (
        ("scald scalded scalding scalds",),
        ("boiling hot steam", "water soup oil steam liquid lye", "splash splashed sprayed spray burnt burned "
            "over me him her poured "
         "shot squirted"),
        ("steam", "burnt burned burn sprayed shot", _BODY + " " + _PEOPLE),
    ),
}
"""By kind, its cues: a word of each group, in one sentence."""

_FOOD = ("toast bread food pizza cake cakes meat crumbs bun buns roll rolls pastry fish chicken salmon potatoes chips "
         "sauce cheese croissant croissants croissante lasagne roast steak sausage sausages biscuits cookies pie "
         "dough baguette")
_SCORCH = _stems(_BURN)
_HARMLESS: tuple[tuple[str, str], ...] = (
    ("smoke smoked smoking smoky smoker", "salmon ham fish bacon smoker barbecue taste tastes tasting outside "
        "allowed cigarette "
     "cigarettes area flavour"),
    ("water steam", "as should normal normally"),
    ("smell smells smelling", "frying onions garlic cheese curry"),
    ("smoke fire", "battery drill exit door extinguisher blanket inspection certificate safety-test"),
    ("fire flame flames", "pizzeria called restaurant pub name named"),
    ("shock shocked shocks", "bill price cost costs invoice quote hear news by at total"),
    ("hurt hurts", "business trade sales budget takings feelings wallet reputation"),
    ("gas", "station"),
    ("live", "music band football sports stream"),
    ("burning", "know question desire ask"),
    ("spark sparks", "interest idea"),
    ("sparkling", "water wine"),
    ("chlorine chemical chemicals soap", "taste tastes tasting"),
    ("trip trips", "advisor holiday"),
    ("ambulance hospital", "kitchen canteen ward customer"),
)
"""What a word of the first group is harmless beside, within a few words: smoked salmon, shocked at the bill."""
_NEAR = 4
"""Words between two that belong together."""
_DENYING = frozenset(("not", "no", "never", "nobody", "without", "none", "nor", "neither", "nothing"))
_STILL = frozenset((
    "longer", "more", "anymore", "sure", "know", "certain", "only", "just", "if", "whether", "think", "stop", "help",
    "believe",
))
"""Words that make a denial doubtful: no longer, not sure, not only."""
_ENDS = frozenset((
    ".", ";", ":", "!", "?", "\n", "but", "because", "except", "apart", "although", "though", "however", "yet", "so",
    "then", "until", "unless",
))
_ALWAYS = ("not breathe", "not get up", "not stop the bleeding", "not breathing", "not conscious", "not responding",
           "not move his", "not move her", "not feel his", "not feel her", "not feel my")
"""Said with a denial, and all the worse."""


SHORTEST = 4
"""Letters from which a word may be what a misspelt one was meant to be: in shorter ones a slip makes another word."""


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger that was heard: its kind, the words that tell of it, and what to do now."""

    kind: Kind
    title: str
    words: tuple[str, ...]
    instructions: tuple[str, ...]


def dangers_of(text: str) -> tuple[Danger, ...]:
    """The dangers that a message speaks of, in the order of the table: the most urgent kinds first."""
    found: dict[Kind, tuple[str, ...]] = {}
    words = _spelling().respelt(text)
    for sentence in _sentences(words):
        for kind, told in _heard(text, sentence):
            found.setdefault(kind, told)
    return tuple(
        Danger(kind, title, found[kind], instructions) for kind, (title, instructions) in KINDS.items() if kind in found
    )


def dangers_of_titles(titles: Iterable[str]) -> tuple[Danger, ...]:
    """The dangers in what was found, by the titles of what people on site reported."""
    found = {d.kind: d for title in titles for d in dangers_of(title)}
    return tuple(found[kind] for kind in KINDS if kind in found)


def _sentences(words: Sequence[Word]) -> Iterator[list[Word]]:
    part: list[Word] = []
    for word in words:
        if word.text in _ENDS:
            yield part
            part = []
        else:
            part.append(word)
    yield part


def _heard(text: str, sentence: Sequence[Word]) -> Iterator[tuple[Kind, tuple[str, ...]]]:
    joined = " ".join(w.text for w in sentence)
    if any(said in joined for said in _ALWAYS):
        yield "injury", (joined,)
    said = [w for w, denied in zip(sentence, _denied(sentence), strict=True) if not denied]
    said = [w for i, w in enumerate(said) if not _harmless(said, i)]
    stems = [w.stem for w in said]
    for kind, cues in _table().items():
        for cue in cues:
            places = _placed(stems, cue)
            if places is not None:
                yield kind, tuple(text[said[i].start:said[i].end] for i in sorted(places))
                break


def _placed(stems: Sequence[str], cue: Groups) -> set[int] | None:
    """A word of its own for each group of a cue; None where one has none."""
    places: set[int] = set()
    for group in cue:
        place = next((i for i, s in enumerate(stems) if s in group and i not in places), None)
        if place is None:
            return None
        places.add(place)
    return places


def _denied(sentence: Sequence[Word]) -> list[bool]:
    """Which words are denied: those behind a denial, up to a comma that no other denial or list follows."""
    denied, reach = [], False
    for i, word in enumerate(sentence):
        after = [w.text for w in sentence[i + 1: i + 4]]
        if word.text in _DENYING:
            first = i == 0 or sentence[i - 1].text in (",", "and")
            asked = first and word.text == "not" and bool(after) and after[0] in ("there", "that", "it")
            answer = word.text == "no" and bool(after) and after[0] in (",", "it", "there", "i", "we", "the")
            trailing = word.text in ("no", "nothing") and not after
            reach = not (_STILL.intersection(after[:2]) or asked or answer or trailing)
        elif reach and word.text in (",", "and") and not _list_ends(sentence, i):
            reach = False
        denied.append(reach and word.stem not in _held())
    return denied


@lru_cache(maxsize=1)
def _held() -> frozenset[str]:
    """What a breaker won't do when it trips."""
    return _stems("stay hold reset")


def _list_ends(sentence: Sequence[Word], i: int) -> bool:
    """Whether what follows a comma or an `and` is one more item of a denied list: no smoke, sparks or flames."""
    rest = [w.text for w in sentence[i + 1: i + 5]]
    if sentence[i].text == "and":
        return len(rest) <= 2 and not any(w in ("it", "is", "i", "there", "he", "she", "we", "they") for w in rest)
    return "or" in rest or "nor" in rest


def _harmless(said: Sequence[Word], i: int) -> bool:
    """Whether a word stands beside one that makes it harmless."""
    near = {w.stem for w in said[max(0, i - _NEAR): i + _NEAR + 1] if w is not said[i]}
    if said[i].stem in _SCORCH and near & _food():
        return True
    if said[i].text in ("fired", "sparkling"):
        return True
    return any(said[i].stem in first and near & second for first, second in _looks_alike())


@lru_cache(maxsize=1)
def _table() -> dict[Kind, tuple[Groups, ...]]:
    return {kind: tuple(tuple(_stems(group) for group in cue) for cue in cues) for kind, cues in _CUES.items()}


@lru_cache(maxsize=1)
def _food() -> frozenset[str]:
    return _stems(_FOOD)


@lru_cache(maxsize=1)
def _looks_alike() -> tuple[tuple[frozenset[str], frozenset[str]], ...]:
    return tuple((_stems(first), _stems(second)) for first, second in _HARMLESS)


@lru_cache(maxsize=1)
def _spelling() -> Spelling:
    groups = [group for cues in _CUES.values() for cue in cues for group in cue]
    harmless = [group for pair in _HARMLESS for group in pair]
    told = {w.text for group in [*groups, *harmless, _FOOD, *_ALWAYS] for w in words_of(group)}
    return Spelling(w for w in (told | vocabulary()) if len(w) >= SHORTEST and w not in COMMON)

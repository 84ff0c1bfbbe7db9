"""Words of everyday talk: spelt right, and of little weight when a message is weighed."""

from __future__ import annotations

_TEXT = """
plus gap gaps dead soon alight able about above accident account across actually add afraid after again ago agree
ahead allow almost alone along already although among amount angry another answer anybody apart apartment apparently
appear appointment area arm around arrive ask asked away baby back bag bags ball bank based basically became become
been before began behind believe below beside best better between beyond bill birthday bite book both bother bottle
bought bowl box boy bread breakfast bring brother brought build building built business busy butter button buy call
called caller calling came camera cancel card care carry case cash catch caught cause certain chair chance change
charge cheap check chef child choose church city claim class clear clock close clothes coat coffee coming company
complain complained complaining complains complaint computer contact contract cook cooking corner correct cost couple
course cousin cover credit cupboard current customer customers dad dark date daughter deal dear decide deep delivery
desk diary dinner dining doctor dog done double doubt down drink drinks drive driver drove each early east easy eat
egg eight either else email empty engineer enough enter entire especially evening ever everybody every exactly example
except excuse expect explain extra eye face fact fairly family far fast father feel feet fellow felt finally find fine
finger finish finished first five fix fixed follow following food foot forget forgot four free fresh friend friendly
fridge front full funny further garden general gentleman girl give glad goes gone grand great green grey group grow
guess guest guests guy half hand hands happen happened happy hard hardly hate head health help here high higher him
hire holiday home hope hotel house huge hundred husband idea immediately important include indeed information inside
instead interest invoice item job join juice july june keep kept key keys kids kind knew knife know known lady lager
large last late later laugh learn least leave left leg legs letter life lift like line list listen little live local
lock long longer loose lose lost loud love lovely low lower luck lunch machine main make making man manager manual
many market married match matter maybe mean means meant meat meeting member men mention menu message middle might mile
milk mind mine minute miss mistake mobile moment money month months mood morning most mother mouth move much music
must name near nearly neck need neighbour neighbours never new news next nice night nine nobody noon normal north nose
note notice noticed number obviously offer office often old once one only open opened opening opposite order ordered
other ought outside over own owner page paid pain paint paper parents park parking part party pass password past pay
people perhaps person phone photo picture piece pint place plan play please plenty point police poor possible post
pound power present pretty price print printer probably problem problems promise public pull push pushed put quick
quickly quite quote rain raining ran rang rather read ready real realise really reason receive receipt recently record
regular remember remove repair repaired replace report rest restaurant result return right ring river road round rule
sad said sale same sat saw say school season seat second see seem seen self sell send sent separate serve service set
seven several shall share she shop shopping should shout show side sign simple since single sir sister sit six sleep
slip slipped slow small smile some somebody someone something son sorry sort south speak special spend spoke spoken
staff stage stand station stay step still stock store story straight strange street strong student stuff such suddenly
suggest sun supply suppose sure surprise swear sweet swim table take taken taking talk taste teacher team technician
tell ten terrible than thank thanks their them then there thing think third thirsty this those thought thousand three
through throw ticket till time times tired today together told tomorrow tonight took top touch town traffic travel
tried trip trouble true trust try trying turn twelve twenty twice two type tyre under understand unless until upset
use used usual usually van very village visit voice wait waiter waitress walk wall want wanted watch way wear weather
website wedding week weekend weeks welcome went were west what wheel when where which while who whole why wife will
win window wine winter wish woman wonder wood word wore worker world worry worse worst write writing wrong year years
yellow young yours
"""
COMMON = frozenset(_TEXT.split())

_ORDINARY = """
acid aid aim alter baled band bead bearing bell bend bent blade blame blank blend blown bob bow bracket braze
brazing breath breaths brisk broad buzzer cap carried ceiling chain chart chat choked clamp clash climb climbed clip
clips closer coil coils colour colours comb commute compressed conclusion contactor contain contained content
conversation counter crease creased crimp crusted cues cup cups cylinder degrease degree dew dip disk dose dosing
drawn dried drier drifted dump electrician evaporates event exclude expansion extension fail fails failure feed file
files filter filters firm fit fitted fizzing flakes flap floating flour flush flushed flushes fold forced fork fully
fur goggles harness held holders hook hose hoses host hung isolation kink lags layer lays lean leans leased lever
lie lies lighter lime lint loop loosen loss machinery max mend mislead mix mixture mode modes moist newer nut older
openings operator overlap pale pane panes paused percent phrases picking pin pink pins plunger pole poll prepare
pressed process prove pulp quarter quicker rag raise raises rank reach reaching readings reed refitting reseat
residual reverse ride rim rise risen rises rod role rubs rush safe sag save scale scaled scales score scraper
screwed seep seeps sensing settings shaft shaken shallow shape shapes sharp shelf shells shipped shock shocks shown
silence sing sings skating skin skip skipped slack sleeve sleeves sludge smaller smile smoking snow snowed snowing
soak solver soup span spare spares spelling spent spindle spirits spit splices spout spread spreads spring springs
squares stable stacked stalled standings star starved state steadily stem stiff straighten strainer strap stretched
style sum summary swap swell swelling swells swing swings swish swishes tab tap tape taps testing tie ties tighter
tin tip tool tools torch trap trapped tree triples tug tuned twin user users wake warnings watts wax web weep weeps
whatever whether whoever whose wide width winding wipe wipes wiping wordings
"""
ORDINARY = frozenset(_ORDINARY.split())
"""Words that a slip would make into one of the trade or of danger, and that mean themselves."""

"""Words of the trade that mean the same, and those that mean the opposite (after a hyphen).

Common practice, no source: how callers of kitchens, bars and shops speak of their machines. A concept is a *thing*
(what it is about) or a *state* (how it is, what it does). A word that is in no group is a concept of its own.
"""

from __future__ import annotations

from functools import lru_cache

from graph.words.common import COMMON
from graph.words.stems import stem, words_of

THINGS = {
    "water": "water",
    "ice": "ice",
    "cube": "cube, ice cube",
    "air": "air, breeze, draught",
    "fan": "fan, blower, ventilator",
    "lamp": "lamp, light, led, indicator, bulb",
    "inside": "inside, interior, in there",
    "handle": "handle",
    "arm": "arm, wash arm, spray arm, spinny arm, washarm, rotor",
    "tank": "tank, sump",
    "probe": "probe, core probe, meat probe, food probe, needle probe",
    "beer": "beer, pint, lager, ale",
    "drum": "drum, canister, jerrycan, container",
    "frame": "frame, door frame",
    "bin": "bin, store, storage, hopper",
    "plate": "plate, evaporator, cell plate",
    "drain": "drain, waste, outlet, sewer, waste pipe, drainage",
    "floor": "floor, ground, tiles",
    "room": "room, kitchen, bar, cellar, place, in here, surroundings, where it stands",
    "breaker": "breaker, fuse, rcd, trip switch, earth leakage, circuit breaker, fuse box, breakers, main switch",
    "compressor": "compressor, motor",
    "pump": "pump",
    "door": "door, lid, hatch",
    "glass": "glass, glasses, dish, dishes, crockery, tumbler",
    "cell": "cell, pocket, mould, row, column",
    "bottom": "bottom",
    "front": "front, grille, vent, vents, grill",
    "back": "back, rear, behind",
    "fill phase": "f, letter f, filling phase",
    "build phase": "b, lamp b, letter b",
    "display": "display, screen, panel",
    "batch": "batch, sheet, load",
    "steam": "steam, vapour, humidity, moisture",
    "cable": "cable, lead, cord, wire",
    "basket": "basket, rack, tray, shelf",
    "burner": "burner, flame, pilot",
    "seal": "seal, gasket",
    "food": "food, bread, product, meat, cake, pizza, croissant, pastry, roll, bun, pie, chicken, roast, joint, fish, "
            "vegetables, veg, potatoes",
    "detergent": "detergent, soap, chemical, rinse aid",
    "switching on": "switch it on, turn it on, switched it on, turned it on, switch on, turn on, switched on, "
        "turned on, "
                    "plug it in, plugged in, plug in, it is on",
    "machine noise": "noise, sound, noises",
    "elsewhere": "hang on a, hold on a, hold the line, ring you back, ring me back, call you back, call me back, "
     "phone you back, coffee machine, cash "
    "machine, "
                 "card machine, washing machine, fruit machine, slot machine, vending machine, car park, air "
                 "conditioning, "
                 "cooker hood, water bill, gas bill",
}
STATES = {
    "run": "run, work, start, function, operate, come on, comes on, coming on, kick in, kicks in, going round, "
           "powered, turning, turn, spin, spinning, -dead, -lifeless, -nothing happens, -nothing happen, -no power, "
           "-lost power, -packed up, -given up, -gives up, -died, -conked out, -nobody home, -nothing at all, "
           "-switched itself off, -not turn on, -not switch on, -not power up, -not fire up, -no lights, -no lamp, "
            "-silent, -quiet, -does nothing, -do nothing, -it does nothing",
    "stop": "stop, cease, halt, shut off, shuts off, shut down, shuts down, cut out, cuts out, cutting out, goes to "
     "sleep, take a break, takes a break, take a rest, "
            "takes a rest, have a rest, pause, conk out, conks out, "
        "turns off",
    "cold": "cold, cool, chilled, chill, -warm, -lukewarm, -tepid",
    "hot": "hot, heat, warm, boil, sauna, overheat, scorching, boiling, roasting, hair dryer, hairdryer",
    "freeze": "freeze, frost, ice up, iced up, iced, ices up, blizzard, snow, rime",
    "rattle": "rattle, racket, vibrate, clatter, loud, noisy, bang, knock, bag of nails, bag of spanners, bag of "
     "bolts, bucket of bolts, rumble, clank, shake, din, "
              "clang, jangle, thud, thump, shudder, tractor, helicopter, like a train, -quiet",
    "scrape": "scrape, rub, catch on, catching on, hitting, metal on metal",
    "grind": "grind, growl, crunching noise",
    "howl": "howl, squeal, squeak, screech, whine, whistle, shriek, scream, wail, screak",
    "hum": "hum, buzz, drone",
    "click": "click, clunk, tick, clicks",
    "gurgle": "gurgle, slurp, bubble, glug, suck, straw, gulp, milkshake",
    "blink": "blink, flash, flicker, flashing, pulses",
    "amber": "amber, orange, yellow",
    "blue": "blue",
    "alarm": "error, fault, alarm, warning, code, beep, beeps",
    "fill": "fill, take in water, takes water, water going in, water coming in, water coming into, water go in, "
        "take water",
    "enter": "going in, coming in, coming into, comes in, go in, come in, getting in, supply, goes in, hiss",
    "slow": "slow, ages, forever, for ever, too long, much longer, longer, long time, longer than, trickle, "
        "takes long, "
            "over an hour, an hour, hours, minutes, many minutes, take ages, dribble",
    "early": "early, too soon, too short, before, short, only a few minutes, few minutes, ten minutes, jumps",
    "leak": "leak, drip, puddle, pool, soak, lake, dribbles out, water on the floor, wet floor, floor wet, floor is "
     "wet, water all over, "
        "mop, flood, "
            "water around, spill, running out underneath, -floor is dry, -floor dry, -dry floor",
    "drop": "drop, fall, release, harvest, let go, come off, comes off, come away, slide, coming off, letting "
        "go, falls off",
    "stick": "stick, hang, jam, cling, seize",
    "wet": "wet, melt, thaw, soft, soggy, slush, slushy, watery, mushy, soup, -dry, -bone dry",
    "lump": "lump, block of ice, brick, slab, solid, together, clump, one block, solid block, glacier, iceberg, "
     "boulder, hammer, apart",
    "hollow": "hollow, dimple, hole, thimble, sunken",
    "small": "small, tiny, thin, sliver, size",
    "little": "less, few, not enough, hardly, -enough, barely, -keep up, production has dropped, "
              "run low, low, short of, dropped right off, run out, -plenty, -lots, -loads",
    "cloudy": "cloudy, white, milky, opaque, foggy, chalky, haze, hazy, -see through, -clear, -transparent",
    "taste": "taste, smell, flavour, odour, musty, stale, flavor, odor, whiff, stink, pong, chlorine",
    "bad": "bad, funny, horrible, awful, strange, odd, weird, tastes off, smells off, disgusting, foul, nasty",
    "trip": "trip, breaker goes, fuse goes, power goes off, takes the power out, takes the power off, switch "
        "goes, breaker out, knock out, knocks out, blow the fuse, blows the fuse, goes off, knocks the fuse out, "
        "throws",
    "intermittent": "intermittent, sometimes, occasionally, now and then, on and off, off and on, some days, at "
    "times, "
                    "comes and goes, mind of its own, play up, plays up, from time to time, now and again, randomly, "
                    "works again, once in a while, one day, then again",
    "full": "full, crammed, chock full, jam packed, to the brim, heaped, overflow, overflowing, brim, cram, rammed, "
     "stuffed, packed, overload, -empty, -room left",
    "block": "block, clog, back up, backs up, backing up, bung, plug up, standing, stand, pond, comes up, come up, "
             "coming up, up again",
    "blow": "blow, blowing, blast, pour out, pouring out",
    "patchy": "gap, patchy, empty cells, missing, nothing formed, stay empty, stays empty",
    "uneven": "uneven, one end, one side, thick, other end, other side, thinner, thicker, unevenly, left hand, "
        "right hand",
    "hear": "hear, audible",
    "clean": "clean, wash, rinse, cleaning, sanitise, -dirty, -filthy, -grubby, -mucky",
    "streaky": "streak, smear, smudge, spot, drip mark, water mark, watermark",
    "film": "film, coating, bloom, residue, look frosted, looks frosted, frosted glass, haze on",
    "slippery": "slippery, slimy, slimey",
    "torn": "torn, tear, rip, ripped, split, perished",
    "crack": "crack, shatter, smashed",
    "hard": "hard, rock hard, hard as stone, like concrete, like a rock, like rock",
    "crisp": "crisp, crispy, crunchy, -limp, -floppy, -flabby",
    "end": "end, finish",
    "count down": "count down, counts down, countdown, clock running down, going backwards, counting backwards",
    "always": "always, constant, all the time, nonstop, non stop, continuous, constantly, most of the time, keep, "
              "carry on, go on, goes on, continue, carries on, keeps on, still",
    "open": "open, ajar",
    "close": "close, shut, latch, push it home, pull it to",
    "burn": "burn, scorch, char, charcoal, cinder, burnt to a crisp, burnt offering, black as coal, singe, incinerate",
    "dark": "dark, black, brown",
    "pale": "pale, undercooked, underdone, raw, anaemic",
    "foam": "foam, froth, suds, foaming, lather",
}
FINE = (
    "fine, ok, okay, alright, all right, normal, normally, properly, as it should, as usual, no problem, good, "
    "perfect, "
    "great, without trouble, without any trouble, nice and, in order, well, no trouble, no issue, as before, happily"
)
"""Words that say that what is spoken of is right."""
EMPTY = (
    "a an the it its this that these those there here i we you he she they me us my our your his her their them "
    "be been "
    "am being do did does doing done have had having get got gets getting make makes making made go goes going "
    "come will would can could "
    "should shall may might must machine ice-machine maker unit thing appliance and or but so then than as at by for "
    "from in into of off on onto out over to up with without down about around through again also too just only very "
    "really quite rather much more most some any all both each every other one ones two three now already yet still "
    "since yesterday today morning night evening afternoon week day days weeks month friday saturday sunday monday "
    "tuesday wednesday thursday hour please hi hello hey well er um oh yes yeah yep ok if when while because although "
    "though even like seem seems look looks looking think thought know feel feels say says said tell see saw happen "
    "happens try tries tried want need let lets keep keeps put which who what where how why not no never none nothing "
    "anything something everything nor neither there anyway want bit lot kind completely totally absolutely "
    "entirely complete "
    "stay stays staying stayed remain remains once mode total proper sort actually sort way whole own same"
)
"""Words that say nothing of what is wrong."""
WEAK = {"hear": 0.4, "run": 0.7, "always": 0.6, "stop": 0.7, "enter": 0.7, "bad": 0.6, "switching on": 0.5,
"early": 0.8}
"""States that many complaints speak of, and what they weigh beside the others."""
ELSEWHERE = (
    "toilet lift car printer phone telephone television tv computer till coffee kettle website wifi password invoice "
    "contract chair table window roof shower bath washing-machine tumble-dryer lawn garden dentist doctor taxi "
    "dog cat "
    "pizza booking parking menu bill payment napkin radio camera alarm-clock lock toaster "
    "microwave urn "
    "bed sofa lorry truck tractor bike bicycle escalator elevator sink bathroom hotel projector laptop radiator "
     "heating gutter gate fence pothole ticket refund subscription marquee "
    "ferry train bus aeroplane football weather holiday dinner-party stairs carpet curtain mattress pillow key keys "
     "purse jacket "
    "shoe mower hedge pavement letterbox doorbell alarm-bell fireplace chimney wallpaper cashpoint email"
)
"""Things that no machine of the trade is: what is said of them is not said of the machine."""


ITSELF = (
    "as a brick, as a dodo, as a doornail, as a stone, as a rock, hell of a, heck of a, "
    "ice machine, ice maker, icemaker, ice cube machine, ice cube maker, glass washer, glasswasher, dish washer, "
    "freezer cabinet, "
    "upright freezer, deep freeze, deep freezer, freezer, combi oven, combi steamer, oven, the machine"
)
"""The machine as a whole, and turns of speech: they say nothing of what is wrong with it."""


Entry = tuple[str, int, bool]
"""A concept, its sign, and whether it is a state."""


@lru_cache(maxsize=1)
def phrases() -> dict[tuple[str, ...], Entry]:
    """Every wording of the thesaurus by its stems."""
    table: dict[tuple[str, ...], Entry] = {}
    for groups, state in ((THINGS, False), (STATES, True)):
        for concept, wordings in groups.items():
            for wording in wordings.split(","):
                sign = -1 if wording.strip().startswith("-") else 1
                stems = tuple(w.stem for w in words_of(wording.strip().lstrip("-")))
                table.setdefault(stems, (concept, sign, state))
    for wording in ITSELF.split(","):
        table[tuple(w.stem for w in words_of(wording))] = ("", 0, False)
    for wording in FINE.split(","):
        table[tuple(w.stem for w in words_of(wording))] = ("fine", 1, True)
    return table


@lru_cache(maxsize=1)
def longest() -> int:
    """The most words that one wording of the thesaurus has."""
    return max(len(stems) for stems in phrases())


@lru_cache(maxsize=1)
def empty() -> frozenset[str]:
    """Stems of the words that say nothing of what is wrong."""
    return frozenset(w.stem for w in words_of(EMPTY)) | frozenset(EMPTY.split())


@lru_cache(maxsize=1)
def elsewhere() -> frozenset[str]:
    """Stems of things that are no machine's."""
    return frozenset(w.stem for w in words_of(ELSEWHERE)) | {"elsewhere"}


@lru_cache(maxsize=1)
def everyday() -> frozenset[str]:
    """Stems of everyday talk."""
    return frozenset(stem(w) for w in COMMON)


@lru_cache(maxsize=1)
def vocabulary() -> frozenset[str]:
    """The words that the thesaurus is written in."""
    groups = (*THINGS.values(), *STATES.values(), FINE, ELSEWHERE, ITSELF)
    return frozenset(w.text for wordings in groups for w in words_of(wordings) if w.text.isalpha())

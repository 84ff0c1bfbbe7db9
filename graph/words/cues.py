"""The words that tell of danger, and those that only look like it. Common practice, no source."""

from __future__ import annotations

from graph.words.instructions import Kind

_SMELL = ("smell smells smelling smelt stink stinks stinking reek reeks odour odor whiff pong scent fumes fume "
 "stench niff aroma pongs ponging whiffs whiffy stinking")
BURN = ("burn burns burning burnt burned scorch scorched scorching singe singed char charred melt melted "
    "melting smoulder")
_BODY = ("hand hands finger fingers arm arms leg legs eye eyes face foot feet thumb head skin wrist neck himself "
         "herself myself themselves throat mouth chest shoulder knee toe toes knuckle elbow "
         "fingertip fingertips forearm nose ear ears lip lips hair sleeve sleeves apron scarf glove gloves palm rib "
          "ribs ankle "
         "jaw tooth teeth cheek forehead shin tie cuff")
_PEOPLE = ("somebody someone he she i we they colleague waiter waitress chef cook customer guest cleaner staff "
    "girl boy "
           "man woman lad lady member manager worker kid child apprentice porter barman nobody anyone")
_POWER = ("electric electrics electricity socket sockets plug cable cables wiring wire wires fusebox mains "
 "transformer "
          "electronics electronic control extension lead adapter switchboard terminals isolator "
          "fuseboard switchgear switchboard pcb circuit circuitry multiplug charger consumer-unit junction")
_WET = ("water wet leak leaks leaking dripping drip drips dripped flood flooded flooding soak soaked spray "
    "sprayed spraying "
        "damp puddle pours pouring soaking soaks splash hosed rain raining rained splashed steam condensation lye")
_BREAKER = ("breaker breakers fuse fuses rcd rcbo mcb gfci electric electrics electricity power trip-switch "
 "tripswitch "
            "earth leakage")
_TRIP_SWITCH = "breaker breakers fuse fuses rcd rcbo mcb gfci switch"
_CHEMICAL = ("detergent descaler bleach cleaner chemical chemicals acid sanitiser sanitizer soap ammonia chlorine lye "
             "caustic degreaser cleaning rinse unblocker peroxide granules pod pods capsule capsules deliming "
              "limescale-remover disinfectant alkali dishwasher-liquid")
_HARM = ("eye eyes skin splash splashed burn burns burnt burning sting stings stinging cough coughing throat swallow "
         "swallowed drank drunk drink breathe breathing fume fumes mix mixed mixing spill spilled spilt spills "
         "face inhale "
         "inhaled choke choking hand hands mouth vomit rash sprayed squirted "
         "blinded irritated lips tongue lungs chest toddler ate eaten licked knelt giddy")

CUES: dict[Kind, tuple[tuple[str, ...], ...]] = {
    "smoke_or_fire": (
        ("smoke smokes smoking smokey smoky smouldering smoulders fire flames flaming ablaze alight blaze fireball",),
        ("fat grease oil cloth towel cardboard paper", "went caught gone", "up alight light"),
        ("plug plugs socket sockets cable flex adapter wiring", "brown soft discoloured hot smoking bulging"),
        ("glow glowing glows ember embers", "red orange behind inside wire wiring plug vents vent through insulation "
         "charred hot"),
        ("haze hazy fumes fume vapour wisp wisps puff puffs plume plumes", "grey gray black dark blue yellow thick "
         "dense top vents "
         "vent panel motor electrical kitchen room see filling fill choking billowing drifting coming"),
        ("black dark", "cloud clouds", "coming came kitchen room back top out"),
        ("caught", "side panel insulation lagging cladding curtain towel cloth rag rags cardboard apron sleeve",
         "has have it light"),
        ("flare flared flares flaring", "up"),
        ("evacuate evacuated evacuating inferno combust combusted",),
        ("extinguisher blanket", "used use grabbed emptied sprayed need"),
        ("hot", "touch hold", "wire cable plug socket cord lead flex plastic switch breaker fuse isolator wall"),
        ("plastic", "bubbling bubbled dripping warped warping sagging gooey soft"),
        ("paint", "blistering blistered bubbling bubbled"),
        ("scorch scorched burn burnt burned burning", "mark marks hole", "wall worktop floor socket plug panel side "
         "counter"),
        ("melted melting melts charred scorched burnt black singed glowing", "plug socket cable lead switch wire "
            "wiring "
         "terminal connector flex board panel"),
    ),
    "burning_smell": (
        (_SMELL, BURN + " overheat overheating plastic rubber electrics electrical electric wire wiring "
            "insulation hot smoke smoky fishy singed hair bakelite varnish tar bonfire scorched frazzled"),
        (_SMELL, "hot", "dryer getting really very so electric"),
        ("burning burns",),
        ("acrid pungent",),
        ("cooking frying fried cooked roasting toasting", "electrical electric wires wiring motor board circuit"),
        (_SMELL, "fuse motor"),
        (_SMELL, "iron ironing solder soldering carpet tar tyre tyres"),
    ),
    "sparks": (
        ("spark sparks sparked sparking arcing arced arc arcs sparky explode exploded explodes explosion exploding",),
        ("bang", "loud big huge dead then flash"),
        ("bang", "black"),
        ("popped pop pops", "plug socket switch electrics wall"),
        ("crackle crackles crackled crackling", "behind display back button"),
        ("popped pop pops", "dead inside then flash loud"),
        ("flash flashes flashed", "bang socket plug crackle crackles crackled pop popped"),
        ("crackle crackles crackling crackled fizz fizzing fizzes fizzed sizzle sizzles sizzling", "switch socket "
         "plug electrics "
            "electric panel flash cable "
         "wire box lead board"),
        ("bang blew", "flash smoke electrics socket plug up"),
        ("bang explosion", "went goes massive terrific enormous almighty heard sudden", "it there machine oven "
         "back front "
         "blew dead socket inside and we"),
        ("blew blown", "front back door panel side lid glass", "off open apart"),
        ("flash flashes flashed", "blue white bright", "behind underneath under back inside saw wire cable switch"),
        ("lightning", "bolt bolts inside behind cover panel socket plug wire wires mini little"),
        ("firework fireworks firecracker firecrackers flashover",),
        ("welding welder weld", "like flash light bright"),
        ("crack cracks cracking snap snapping snaps", "electric electrical electricity socket plug current"),
        ("strobing strobe", "inside behind socket"),
        ("flash", "big huge bright massive enormous blinding", "room lit kitchen whole bang"),
        ("went goes gone", "pop bang", "lit flash dark dead light inside"),
        ("short shorted shorting", "circuit circuits out wire cable plug socket electrics"),
    ),
    "gas_smell": (
        ("gassy",),
        ("gas", _SMELL + " leak leaks leaking leaked escape escapes escaping hiss hisses hissing alarm detector blew"),
        ("rotten bad", "egg eggs", _SMELL + " like"),
        ("sulphur sulfur sulphurous",),
        ("carbon", "monoxide alarm detector monitor"),
        ("gas", "hiss hissing sniff stink regulator fumes alarm hear"),
        ("woozy lightheaded groggy queasy giddy drowsy", "all everybody everyone we us fumes gas oven kitchen since "
         "near"),
        ("eggy",),
        ("headache headaches dizzy", "everybody everyone all we staff"),
        ("gas", "tap valve pipe hose", "turn leak broken off loose stuck stiff cracked"),
        ("monoxide",),
        ("co", "alarm detector monitor sensor poisoning beeping beeps bleeping"),
        ("headache headaches dizzy drowsy sick", "oven cooker gas burner flue boiler hob"),
    ),
    "refrigerant": (
        ("refrigerant coolant freon propane isobutane butane fridge freezer",
         "leak leaks leaking leaked escape escaping escapes hiss hissing hisses spray sprayed spraying smell lost "
         "gone "
         "everywhere pouring burst squirting"),
        ("hiss hisses hissing hissed", "pipe pipes tube oil oily gas wall hole coil line evaporator back nonstop "
            "freezer"),
        ("puncture punctured pierced pierce stabbed poked drilled nicked holed gouged", "pipe pipes tube "
            "tubes wall liner coil lining "
         "evaporator plate line screwdriver knife"),
        ("screwdriver knife drill drilled pick nail hammer chisel spike skewer scraper", "pipe pipes tube tubes "
         "coil line "
         "lining liner wall evaporator", "through into hole hit nicked gone spray spraying hiss hissing burst "
         "damaged cut"),
        ("hole", "pipe pipes tube tubes coil lining liner evaporator cooling refrigerant"),
        ("cut cracked snapped broke broken split kinked burst", "pipe tube line coil", "cooling fridge freezer "
         "copper coolant "
         "refrigerant gas thin evaporator"),
        ("oil oily", "hiss hissing hisses"),
        ("screwdriver knife chisel pick hammer", "scraping scrape scraped chipping chip chipped hack hacking "
         "hacked pried"),
        ("nail screw drill drilled bolt", "through into", "side wall back freezer fridge cabinet"),
        ("gas", "cloud mist fog"),
        ("gas", "coming blowing pouring rushing", "fridge freezer cabinet"),
        ("hiss hissing hisses", _SMELL + " sweet"),
        ("spray sprays sprayed spraying spurting jet jetting", "copper capillary coil"),
        ("knife screwdriver pick drill chisel", "through into", "back side freezer fridge cabinet lining wall"),
        ("knife screwdriver pick", "stuck", "freezer fridge wall lining coil pipe plate"),
    ),
    "chemical": (
        (_CHEMICAL, _HARM),
        ("ammonia",),
        ("acid bleach", "acid bleach descaler"),
        ("cough coughs coughing choking spluttering", "everybody everyone cloud fumes sprayed spray cleaned cleaning "
         "cleaner since all"),
        ("swallowed swallow drank drunk", "liquid cleaner cleaning tablet tablets product salt aid stuff fluid"),
        ("liquid fluid solution powder product tablet stuff glasswash dishwash " + _CHEMICAL, "eye eyes mouth throat "
         "swallowed swallow drank drunk inhaled breathed lungs"),
        ("splash splashed splashes sprayed squirted spat got gone", "eye eyes"),
        ("eye eyes", "streaming stream stinging sting stings burning burn sore weeping red itch"),
        ("squirted squirt sprayed spurted", "face mouth eye eyes"),
        (_CHEMICAL, "leg legs arm arms foot feet skin lips tongue", "blister blisters sore red raw itch itching "
         "itches pain "
         "hurts over on"),
        ("fumes fume", "sting stings throat eyes cough choke choking breathe cleaner sick"),
    ),
    "water_on_electrics": (
        (_WET, _POWER),
        (_WET, "power", "strip point socket outlet supply box board"),
        (_WET, "light lamp ceiling", "fitting fittings"),
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
        ("fuse fuses", "second third fourth another gone week today times"),
        ("lose loses lost losing", "power electric electrics electricity", "whenever when every all whole everywhere"),
        ("board", "keep keeps goes going", "off out"),
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
        ("electric electrical", "belt zap jolt kick tingle buzz"),
        ("fizz fizzes fizzing buzz buzzes tingle", "arm arms hand hands finger fingers elbow"),
        ("current", "felt feel feeling feels off"),
        ("numb", _BODY + " touch touched"),
        ("thrown threw throw", "back across off", "touch touched touching"),
        ("static electricity electric power", "touch touched touching handle lean"),
        ("bites biting nips nipped stings stung pricks", "hand hands finger fingers touch touched touching lean "
         "you me"),
        ("gives give gave got get getting feel felt feels had", "belt kick bite sting zing tickle wallop whack "
         "prickle jab nip buzz "
         "throb fizz", "door handle it metal me you touch touched steel casing case frame sink tap wet hand hands "
          "lean off"),
        ("tickle tickles prickle prickles zing pins", "metal steel casing handle touch touched case frame tap sink "
         "surface lean"),
        ("hair", "stand stands stood", "end touch arm"),
        ("static", "metal steel handle casing"),
        ("live", "chassis sink tap worktop surface tray appliance machine whole"),
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
        (_PEOPLE + " lad lads lass girl bloke guy mate waitress colleague", "passed blacked knocked keeled", "out "
         "over"),
        ("passed", "out", "floor cold"),
        ("seizure convulsions convulsing",),
        ("heart", "attack"),
        ("had having has", "stroke"),
        ("he she somebody someone man woman lad lass girl boy customer chef colleague porter waiter waitress",
         "lying laid lies collapsed unresponsive", "floor ground"),
        ("breath", "catch short out gasping fighting struggling"),
        ("funny blue grey white", "colour lips", "he she his her him gone turned face"),
        ("came slammed shut dropped crashed", "down on onto",
         "hand hands finger fingers foot head leg legs toe toes"),
        ("hit banged bumped knocked cracked", "head"),
        ("glass shard splinter metal", "finger hand foot eye thumb", "in stuck into cut"),
        ("stitches casualty paramedic paramedics cpr defibrillator concussed agony anaphylactic poisoned mangled "
         "severed amputated "
         "electrocution impaled",),
        ("out", "cold", "floor he she man woman him her someone somebody lad guy ground"),
        ("stopped", "breathing"),
        ("999 112 911", "called call rang ring dial dialled dialed phoned phone"),
        ("fell fallen toppled tipped landed crashed came", "on onto", "him her me us them somebody someone"),
        ("crushed squashed pinned trapped flattened", "him her me them under against somebody someone himself herself"),
        ("screaming screamed yelling", "pain he she hand arm"),
        ("grazed skinned pinned squashed nipped fractured pierced stabbed swollen mashed severed chopped dislocated "
         "nicked", _BODY),
        ("caught trapped pulled dragged sucked snagged", "sleeve hair apron scarf glove tie cuff clothes shirt "
         "necklace bracelet ring chain lanyard bandana", "in fan blade belt "
         "machine into it"),
        ("bump lump gash", "head forehead eye"),
        ("pulse", "not no weak feel"),
        ("slammed slam crashed clamped closed fell", _BODY, "swelling swollen on onto blue bruised hurts broken"),
    ),
    "scald": (
        ("scald scalded scalding scalds",),
        ("boiling hot steam", "water soup oil steam liquid lye", "splash splashed sprayed spray burnt burned "
            "over me him her poured "
         "shot squirted"),
        ("steam", "burnt burned burn sprayed shot", _BODY + " " + _PEOPLE),
        ("boiling scalding steam", _BODY.replace("hand hands ", ""), "in over down on onto into all his her my "
         "their got "
         "right him me"),
        ("boiling", "water oil soup fat", _BODY),
        ("burn burnt burned burns", _BODY, "tank water steam tray oven soup"),
        ("hot boiling", "gravy sauce soup stock fat oil custard syrup", _BODY),
        ("hot", "water oil soup fat", _BODY, "over down onto all splash splashed spill spilled poured got"),
        ("blister blisters blistered", _BODY + " steam hot water oven"),
    ),
}
"""By kind, its cues: a word of each group, in one sentence."""

FOOD = ("toast bread food pizza cake cakes meat crumbs bun buns roll rolls pastry fish chicken salmon potatoes chips "
         "sauce cheese croissant croissants croissante lasagne roast salad chilli curry steak sausage sausages "
          "biscuits cookies pie "
         "dough baguette")
HARMLESS_PHRASES = (
    "fire door", "fire exit", "fire regulations", "fire safety", "fire poster", "fire insurance", "fire "
     "marshal", "plug hole",
    "cable tie", "cable ties", "smells of fish", "smell of fish", "dead fish", "shock absorber", "shock "
     "absorbers", "bit of a live wire", "fire drill", "fire inspection", "fire certificate",
    "fire escape", "fire station", "burns everything", "burning everything", "burns one side", "one side burnt",
    "one side is burnt",
    "everything comes out burnt", "it comes out burnt", "they come out burnt", "burns at the normal", "burns at "
    "the usual", "hot drain", "spray arm", "spray arms", "wash arm", "wash arms",
    "spinny arm", "taste of detergent", "tastes of detergent", "thin and breaks in your hand", "up to temperature",
)
"""What is harmless as it stands: the words of these are not heard."""
HARMLESS: tuple[tuple[str, str], ...] = (
    ("smoke smoked smoking smoky smoker", "salmon haddock mackerel trout kipper ham fish bacon smoker barbecue "
     "paprika cheese taste tastes tasting outside "
        "allowed cigarette "
     "cigarettes area flavour"),
    ("water steam", "as should normal normally"),
    ("smell smells smelling", "frying onions garlic cheese curry"),
    ("smoke", "battery test"),
    ("blowing", "keeps carries carry"),
    ("blood", "chicken meat beef steak"),
    ("fire flame flames", "pizzeria restaurant pub name named"),
    ("shock shocked shocks", "bill price cost costs invoice quote hear news by at total how"),
    ("hurt hurts", "business trade sales budget takings feelings wallet reputation noise"),
    ("gas", "station"),
    ("gassy", "beer lager ale drink drinks pint cola lemonade water"),
    ("live", "music band football sports stream"),
    ("burning", "know question desire ask"),
    ("burning", "coffee tea soup drink drinks chocolate"),
    ("spark sparks", "interest idea conversation debate"),
    ("sparkling", "water wine"),
    ("chlorine chemical chemicals soap", "taste tastes tasting"),
    ("trip trips", "advisor holiday"),
    ("ambulance hospital", "kitchen canteen ward customer"),
)
"""What a word of the first group is harmless beside, within a few words: smoked salmon, shocked at the bill."""

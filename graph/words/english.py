"""Common words of English, so that a word that is right isn't put right: a steak is no steam.

A list and nothing more: words without capitals of Debian's small British word list (from K. Atkinson's SCOWL), the more
usual ones, and those that a slip would make into a word of the trade. Regular endings are left out. That list comes
under this notice:

Copyright 2000-2018 by Kevin Atkinson. Permission to use, copy, modify, distribute and sell these word lists, the
associated scripts, the output created from the scripts, and its documentation for any purpose is hereby granted without
fee, provided that the above copyright notice appears in all copies and that both that copyright notice and this
permission notice appear in supporting documentation. Kevin Atkinson makes no representations about the suitability of
this array for any purpose. It is provided "as is" without express or implied warranty.
"""

from __future__ import annotations

_WORDS = """
aback abandoned abating abbey abducts abetting abiding ability aboard abolished aborted abounds aboveboard abridge
abroad abrupt absence absent absolute absolve abuse academic academy accent accept access accessible accidental acclaim
accommodate accompanied accompany accomplished accord accosts accountable accredit accurate accuse ace achieve
achievement aching acidity acknowledged acoustic acquired acquisition acre acrider act action activated active activist
activity actor actress actual actuary adaptation adapted adaptive adaptor added addition additional address adhere
adjacent administered administration administrative administrator admiral admit adopted adored adult adultery advance
advantage advent adventure advertising advice advise adviser advisor advisory advocate afar affair affect affiliate
affixed afford affront afterlife afterthought afterwards against age aged agency agent agony agreeable agreed agreement
agricultural agriculture aground aide aircraft airline airport airstrip airtight album alcohol alien alive alkalies
alkaline alkalis allayed alleged alley alliance allied allotted allowable alloy alloys alluded allured ally almighty
almond alongside alpha alternate alternative altitude amassing amateur amazing ambassador ambiance ambling amendment
amenity amid amir amongst amperes analysis anchor ancient angel anger angle anglers angrily animal animated animation
ankle annals anniversary announced announcement annual anoints answerable ant anthem antibody antlers anyone anyplace
anywhere ape apparent appeal appearance appends apple application applied apply appoint apposite approach appropriate
approval approved approximately arbours arc arcade arch archaeological archbishop archer architect architectural
architecture archive arcking ardent ardours are arena ares argue argument aria arid arises ark armchair armour army
aroused arrange arrangement arrays arrears arrest arrival arrow art artery article artificial artillery artist artistic
artwork ascent ascribe ash aside asleep aspect ass assault assembly assent assessment assets assign assignment assist
assistance assistant associate association assume assure astound astride ate athlete athletic atmosphere attach attack
attacker attain attempt attend attendance attention attests attired attitude attorney attract attraction attractive
attributed audibly audience audio august aunt austere author authority auto automatic automatically autonomous autumn
available avenging avenue average aviation avid avoid await awake award aware awareness awe awhile axe axis axle aye
babbled babe baboons bachelor backbone backers backfire background backhand backings backlog backpacks backside
backstage backward backwoods badge badger bail bait baked baker bakery balance balcony bald balking ballad ballast
ballet ballot ballroom baloney ban bandage bandied bandit bandstand bandying banister banker banknote banner bannister
banters barbed barbeque barber bard bare bargain barge bark barley barn baron barrel barren barrier barters base
baseball basement bash basic basin basis basketball basking bass bastard basting bat bathtub baton batsman battalion
batter battery battle baulking bawling bay beach beacon beak beakers beam bean bear beard bearer bearings beast beat
beaten beaters beautiful beauty beaver beckons bedclothes bedrock bedroom bedside bedtime beef beetle beforehand beg
begin begun behalf beheads behold beige belated belief believer bellows belly belong beloved belt belying bench bender
beneath benefit benighted benign bereave berry berthed besetting besiege besought bestows bet beta bettors bewitch bias
biased biassed bible bickers bid big bigger biggest bile billboard billion billows bind binders biography biological
biology bird birth birthdays biscuit bishop bitten bitter blabbed blackboard blacken blacker blackest blackhead
blacklist blackout blacktop bladder blanched bland blander blanker blanket blaring blaster blaze blazers bleached bleak
bleaker bleated bled blesses blew blights blind blinker blither blitzes blobbed bloc blockade blockage blockhead blog
blogger blond blonde blonder blood bloodied bloodshed bloodshot bloodstream bloodthirsty bloody bloodying blossom
blotched blotted blotter blouse blowout blueprint blunter blunting blur blurted blushed bluster boar board boarder
boardwalk boasts boat bodies bodily body bodywork bog boggling boiler bold bolster bolting bomb bombard bomber bond
bone bonus bony boo bookcase bookend bookings booklet bookmark bookshelf bookshop bookstore boom booster boosting boot
booth bootleg bop border bore boringly born borne borough boss botany botched bothersome bottleneck bottomless boulder
boulevard bound boundary bout bowler boxer boyfriend boyhood bra braced bragged braided brain braised brake branch
brand brandied brandy brandying brass brave bravery bravest braying breach breadth break breakable breakdown breakneck
breakthrough breakwater breast breathe breather breathless breathtaking bred breed breeder breeds breezier brew brewery
bribe bride bridge bridling brief brigade bright brighten brighter brilliant brimstone brink brisker britches brittle
broached broadcast broaden broader brocade broiled broiler broke broken broker bronze brood brook broom brotherhood
brow browner brownest brownie browsed bruise brunched brush brusker brutally brute bubblier bubbliest buck bucket
buckling bud buddy budge budget buffalo buffer buffet buffing bug buggies buglers bugling builder buildings bulge bulk
bulky bull bullet bully bullying bum bumper bumpier bumping bundle bungled bunions bunk bunker bunny buoying burbled
burden bureau bureaus burger burial buried burlier burnish burping burr burring burst bury bus bush businessman
businessmen businesswoman bust busybody butcher butler butt butte butterfly buttermilk buttery buttock buttonhole byte
cab cabaret cabin caboose cache cackled cad caddies cadets cage cajoled calculates calendar calf calicos callable
callings callused calm calorie calories calves cam camel cameo camp campaign campers campus canal canary cancelled
cancer candidate candied candle candy cane canine cankers cannery cannon cannot canoe canon canters canyon capable
capacity cape capered capital caprices captain capture carbon cardinal career carefree careful careless caress cargo
carol carolled carouse carp carpentry carpet carriages carrier carrion carrot carrying cart cartel carved cashews
casings casino casket cassino cast caste casters castings castle casual casualties catcall catchings catchup category
catered catfish cathedral catholic cattle catwalk causal causality causeway cavalry cave caveats cavern caviare cavity
cavorts ceasefire ceaseless ceded celebrate celebration celebrity cellist cello cellular cemetery census cent central
centre century cereal ceremony certainty certificate certified chaffed chafing chairman chairmen chairperson chalets
chalice chalk challenge chamber champion championship champs chancellor changeable changeover channel chant chaos
chapel chapped chapter character characteristic chargeable charger charity charm charter chase chatter chattier cheapen
cheaper cheat checker checkout checkpoint checkup cheek cheeped cheers cheese cheesecloth chemist chemistry cherry
chess chest chew chi chicest chick chidden chiding chief childhood childlike children chiller chillest chillier chilly
chimed chimneys chin china chinked chip chipper chirped chiselled chisels chocolate choice choir choke choosey choosier
chop chopper choppier chord chores chorus chose chosen chowder chowing chrome chuck chuckle chugged chummed chunk
churned cinched cinema cipher circle circuitous circuitry circular circulate circulatory circumstances circus cite
citizen civic civil civilian clacked clammed clan clanged clap clapper clarinet clarity clasped classic classical
classification classified classmate classroom clause claws clay cleanest cleanlier cleanse cleanser clearer clearings
cleaved cleaver clench clerk clever client cliff climate clinch clinic clinical clinked clipboard clippings cloak
clockwork clone closest closet closure cloth clotted cloud cloudburst clouted clover clowned club clucked clue clumsily
clumsy clung cluster clutch clutter coach coal coalition coarse coarsen coarser coast coastal coaster coaxing cobalt
cockier cockiest cocky cod coerced coffees coffers coffin coin coinage coke col colander colder coldest collaborated
collaboration collage collapse collar collate colleagues collect collection collective collector college collide
collies colonel colonial colony coloureds colourless colt coma combat combination combine comeback comedy comet comfort
comfortable comic comical comings command commander commenced comment commentary commerce commercial commission
commissioner commit commitment committee common commonwealth commune communication communist community commuter
compacter companion compare comparison compels compete competition competitive compilation compile compiler complacent
completer completest completion complex complexity compliance compliant complicated complied comply complying component
composed composer composition compound comprehensive compression comprises compute computerise comrade con conceal
concede conceits concentrated concentration concept concern concert concerti concerto concession concluded condemnation
condition conditionals condor conduct conductor cone confederate conference confers confession confidence confine
confirmed conflict confused confusion congregation congress conjecture conjure connect connection connective connote
consciousness consecutive consent consequences consequently conservation conservative consider considerable consist
consistent console consonant constancy constituency constitution constitutional constraint constrict construct
construction consultant consumer consumption contemporary contend contest contestant context contiguous continental
continual continuity continuum contort contour contractor contradict contrary contrast contributed contribution
contrite contrive control controlled controversial controversy convene convention conventional converge converse
conversion convert convex convey conveys convicted convictions convince convulse convulsion convulsive cookbook cookie
cooler coolest coop cooper cooperate cooperation cop cope copied copiers copper copperhead copy cordless cordons cork
corn corneas cornets cornier coronary coroner corporate corporation corps corpse correcter corrector corresponding
corridor corrode corruption corsets cortex cosmos costings costume cot cotton couch cougars council counsel countable
counteract countess countless country county coup courage courier courser court courtesy cove coverage covert coveted
coward cowered crab cracker crackle cradle craft cramped crane crank crap crash crasser crate crater craved crawled
crazy creaked cream creamy create creation creative creator creature creditable creditor creed creek creepy cremate
crest crew cricket cried cries crime criminal cringed crinkle cripple crises crisis crisper critic critical criticism
croaked cronies crook crooned crop cross crotch crouch crowd crowing crown crudity cruise crumbed crumble crumple
crunch crusade crushing crutches cry crystal cub cue cuff culling cult cultural culture cum cunning curable curbing
cure curious curls currant curriculum curried curry currying curse cursory curt curtain curve custody custom customary
customise cutback cute cutlets cutter cuttings cycle cyclic cyclone cyphers dabbing dabbles daddy dagger daily dairy
daisies dallies dam damage dame damn dampens dance dancer danger dangerous dare darkens darker darkness darling
darlings darning dart dash dastardly data database daubing daunting dawn daybreak daylight daytime daze deadens
deadline deadlock deaf dealer dealings dealt dean dearest dearths death debate debt debtors debunks debut decade
deceive decent decision deck declaration declared decline decoded decoder decorated decrease decree decreed decried
dedicated deed deemed deepens deeper deer defaming defeat defence defend defender defensive defiling defined definitely
definition deflate deftest defying degrade degrees deifies deigning delay delays deleting delimit deliver delta
deluding deluging delving demand democracy democrat democratic demolished demon demonstrated den denial denied densest
density dent dental dentistry denying depart department departure dependent depends depicted deports depot depress
depression deprive depth deputy derails derange derive descendants descent describe description desert deserve design
designated designation designer desire desists desktop despairs desperate despise despite destination destine destiny
destroy destroyed destruction detail detains detect detection detective determine deterrent detests develop development
device devil devilled devoted dial dialled dialogue diameter diamond dice die diesel diet dietary difference different
difficult difficulty dig digesting digital dignity digress dime dimensional din diner diocese diplomatic dire direct
direction director directory dirt dirtied dirtying disappeared disaster disbanded disc disclosure discolour
discontinued discover discovery discus discuss discussion disease disguise disgustingly dishwasher disinfecting
dismally dismay dismissed disorder disowns dispelled dispels displace displays displease dispute dissolved distance
distant distinct distinction distinctive distinguished distributed distribution district distrusts disuses ditches
dithers ditties dive diver divergent diverse diversity divert divided divine division divorce dizzied dizzying dock
doctorate doctrine document documentary dodge doe doghouse dogwood doilies doll dollar dolly domain dome domestic
dominant dominated domino don donate donkey donor doodling doom doorman doormen doorstep doorway doping dot doubtless
dousing dove dowdies downfall downpour downright downstream downtown downward dowry dozen drabber draft drag dragon
drama dramatic drank draped drapery draughtier draughty draw drawer drawings drawled dread dream drenching dress drew
drills drinkable drinker drivelled drivels driven driveway drizzle droller drooled drooped dropout droppings drought
drouths drown drug drummer drumstick drunk drunken drunker dual dub ducked dude due duel duelled duff dug duke duly
dumpling dune dunging dunking duo during dusk dust duties duty dwelled dyed dynamic dynasty eagerly eagle ear earache
earl earlier earliest earn earthquake ease easier easily easterly eastern eastward easygoing eaten eclectic economic
economy edge edible edited edition editor editorial educated education educational effect effective efficiency
efficient effort ego eighteen eighteenth eighth eighty ejecting elastic elbow elder eldest election elective elector
electoral electric electrical electricity electrified electrify electrifying electrode electron electronic
electronically elects element elementary elevate elevation eleven eligible eliminated elite elsewhere embassy emerged
emergency emitted emotion emotional emotive empathy emperor emphasis empire employ employee employment employs emptier
emptiest emptiness encounter encourage endears endemic endings endless endowing enemy energy enforcement engage
engagement engender engine enjoy enjoyed enmities enormous enrolled ensemble ensigns ensure entails enterprise
entertainment entirety entitle entrance entry entwine environment environmental epic episode equal equation equipment
equipped equivalent era erasing erected eroding escalate escalation escapade escape escapism escort especial essays
essential establish establishment estate esteem estimated etched etchings ether ethnic evading evaporate evaporation
eve eventually evergreen evermore everyday everyone everywhere evidence evil evoking evolution evolve exact examination
examined excellence excellent exception excerpt excess exchange excised excited excitement exclusion exclusive executed
execution executive exempt exercise exhibit exhibition exhorts exile exist existence exit expand expedition expends
expensive experience experiment experimental expert explanation exploits exploration explore explorer explosion
explosive exports expose exposure express expression expulsion extend extensive extent exterior external extinct
extract extreme eyeball eyebrows eyed eyesore fable fabric facade faceless facials facility faction factor factory
factually faculty fade failings faint fainter faintest fair fairest fairy faith fake falcon fallacy fallen fallout
false falsity falters fame familiar families famine famous fancy fang fantasy faraway fare farm farmer farther fashion
fastens faster fastest fat fate fatherhood fattens fattier fatty faucets faultless faulty favour favourite fawning fear
feast feat feather feathery feature fed federal federation fee feebler feeblest feeder feelers feelings feinted felines
fell felling fellowship female fen fence fender fending ferrets ferry ferrying festival fetches fetishes fetters
fetuses feud fewer fibbers fibbing fibre fickler fiction fictional fiddle fidgety field fiendish fierce fifteen fifth
fifty fight fighter figure figurehead filched fillets fin final finale finance financial finches finer finesse finest
fingernail fingerprint finite fir firearm fireman firemen fireplace fireside firewood firework firmest firsthand fisher
fishery fissure fist fixable fixture fizzled flag flailed flamingo flank flare flashback flasher flashest flashier
flashiest flashlight flat flatten flatter flattery flaunts flaw flea flecked fled flee fleecing fleet flesh flew flexed
flexibly flick flies flight flighty flinch fling flint flip flippers flirted flitted float flock flogged flooder
floodlight flop flossed flounce flouted flow flower flowery flown flu fluent fluid flunkey flunkie flurried flurries
flurrying flusher flushest flute flutter flux fly flyer foaling focus fodders foe fog foggier foil foisted folder folk
follies follower followings folly fond font foodstuff fool foolish footage football foothill foothold footings
footlights footnote footprint footstep footwear footwork foraged forayed forbid force ford fore foregone forehead
foreign foremen foresee forest forfeit forgave forge forgery forgive forgiven forgoes forgone forgotten form formal
format formation former formula forswear fort forte forth fortify fortress fortune forty forum forward forwent foster
fought found foundation founder foundling foundry fourteen fourth fowling fox foyer fracture fragile frailty framework
franchise frank fraught fray freaks freckle freedom freehand freeway freight french frenzied frenzy frequency frequent
freshen fresher freshman freshmen freshwater fretted fried friendlies friendship fries friezes frigate fright fringe
frog frontage frontal frontier frostbit frostbite frowns froze frozen fruitless fry fudging fuel fuelled fulfils fuller
fumble fun functional fund fundamental funeral funnel funnily furling furnish furniture furores furrows furry
furthermore fury fuss future fuzzy gabbing gable gadgets gag gain gal gale gall gallery galley gallon gallows gamble
gambler game ganders gang gangling gaoling garage garbles gardener gardenia gargled garland garment garnets garrets
garrison garters gashing gasp gassing gate gather gauge gave gawking gay gaze gazetting gear gee gel gem gender gene
genera generated generation genetic genre gentile gentle gentlemen gently genus getaway ghost giant gift gig giggle
gilding gill gin ginger girders girdles girlfriend girlhood glacial gladden gladder glance gland glared glassier
glassiest glassware glazed gleamed gleaned glen gliding glisten glitter gloated global globe gloom glory glorying gloss
glossy glove glow glowers glue glutted glutton gluttony gnashed gnawing goading goal goat gobbing gobbles goblets god
goddess gold golden golf gong gonna goo goodbye goodnight goods goodwill goofy goose gore gorge gorilla gosling
goslings gospel gotten gouging govern government governor gown grab grabber grace grade gradually graduate graduation
grain grammar grams grandchild granddaughter grander grandfather grandmother grandparents grandson grandstand granny
grant grape graphic graphs grappled grasped grass grassy grateful grating grave gravel gravest gravity grazed grease
greasier greasy greater greatest greed greedily greedy greenback greener greenery greenhouse greet grenade grew grid
griddle grieves grim grin grinder grindstone grip gristle gritting grizzled groans grooming grooving groping gross
grouchy groundless groundwork grouper groused grove grovels growers grown growth grubbed grudged gruelling grumble
grunting guard guardian guessable guesswork guidance guide guild guilt guilty guinea guitar guitarist gulf gullies
gulping gumming gun gunner gushing gust gut guzzles habitat hack hacker hackney hacksaw haggling hail haircut hairdos
hairier hairiest hairline hairy hale halfway hall hallway hallways halo halters halves ham hamlet hammock hampers
hamster handbag handbook handfuls handier handlebar handler handmade handout handshake handsome handwriting handy
hangar hangers hangings hangout hangover hankers hapless happier happiness harbour hardback harden harder hardest
hardier hardiest hardline hardliner hardware hardwood hardy hare harking harlots harm harmony harp harpist harried
harry harsh harsher harshest hart harvester hash hassled haste hasty hat hatchet hatred hatreds hauled haunt haven hawk
hay haywire hazard hazel header headfirst headier headings headlight headline headlong headphone headquarters headrest
headroom headstone headstrong headway heal healer healthcare healthy heap heard hearings hearsay hearses heart
heartache heartbroken heartburn hearten heartfelt hearth heartier heartily heartless heatedly heaters heath heathen
heather heaven heavier heavily heavy heavyweight heckled hedging heeding heels heftier heifers height heighten heir
helicopter hell helpers helpless hem hence herald herb herd hereafter heresy herewith heritage hero heron herself
heydays hiatus hickory hicks hid hidden hide highest highlight highway hijacks hike hill hilt himself hind hinders
hinges hinting hip historian historic historical history hit hitch hive hoarded hoarder hoarse hoarser hoarsest hoaxing
hobbled hockey hog hoisted hold holder holdups holidays holiest hollers hollies hollower holster holy homage homeless
homemade homesick homeward homework honest honey honking honorary honour hoofing hoop hooting hooves hop hopeless horde
horn horribly horror horse hospitable hospital hospitalise hospitality hostel hostelled hostile hotbeds hothead hotter
hottest hounds hourglass household housewarming housewife housework housings hove hovered however hub hue huffing hug
huh hulking hull human humanity humble humbler humdrum humidified humidify humidifying humiliate humility humour
humping hunched hundreds hundredth hunger hungrily hungry hunt hunter hurdle hurled hurricane hurry hurt hurtled hushed
husking hustles hut hutches hybrid hymning hyphens icebreaker icon icy ideal idealist identical identification
identified identify identity ignore iii ill illegal illness illustrated image imagine imbalance immediate immigrants
immigration immobile impact imparts imperial implementation implemented importance importing impossible impotent
impressed impression impressive imprisoned improve improvement inaudible inaugural inbreed inbuilt inch incident income
incomplete incorporated incorrect increase increasingly incumbent incurred indebted indented independence independent
index indicate indication indicative indigenous individual indoor induced inducted industrial industry infantry
infection inferior inferred infidel inflame inflation influence influential info informational informs infrastructure
infuses inhabitants inhaler inherited initial initiated initiative injunction injurious injury inkling inlet inmate inn
innards innate inner innermost innings innocent innovation inoculation input inquire inquiry ins insane insaner
insanity insert insider insight insigne insists inspector inspiration inspire installation installed instals instance
instant insteps instill instils instincts institute institution instruction instrument instrumental insulating
insulator insurance insured insurer intake integrated integration intellectual intelligence intend intense intensity
intent intention inter interaction interchange interface interfere interim intermediate intern internal international
interne internet interpretation interrupted intersect intersection interstate intervention interview introduce
introduction intrust invade invalid invasion invents inverse inverts investigate investigation investment invisible
invitation invite involved involvement inward ion iron ironic irony irregular island isle isolate itchier itchiest
itching ivy jabbing jack jacket jade jagged jail jamborees jar jaw jay jazz jeans jeering jelling jelly jerked jersey
jesting jet jetties jewelled jilting jingle jinxing jogged joke jollied jollies jolly jolting jostled jotting journal
journalism journalist journey joy judge judgment judicial juicier juicy jumbles jump jumper junction juncture jungle
junior jurisdiction jury justice justify jutting keel keen keeper ken kennels kernels keyboard keyhole keynote keystone
keystroke keyword kickback kickoff kid kill killer kilning kilometres kin kinda kindled kindred king kingdom kinkier
kiss kit kitten knacker kneaded knee kneeled knight knitted knives knocker knockout knot knowledge knuckle lab label
laboratory labour lack lacy lad ladder ladylike laid lair lake lamb lame laments lance land landlocked landmark
landscape lane language lantern lap lapsing larding larger largest lark larvae larynges laser lash lass lateral latest
lathing latter lattice laudable lauded laughable laughter launch launder laundry lavatory law lawful lawyer lay lazying
leader leadership leaf league leanest leap learnt lease leashed leather leathery leaves lectern lecture ledge ledger
lee leering leftmost legacy legal legend legendary legion legislation legislative legislature lend length lens lenses
lent lentils lessens lesser lesson lest letdown letterhead lettuce level levelled levying liberal liberation liberty
library license lick lied lieu lieutenant lifeforms lifelike lifeline lifelong lifetime lighten lightest lighthouse
lightning likeable likening lilting lily limb limbers limit lineage linear linefeed linen liner linger lingerie linings
link linkage lion lip lipstick liquefy liquid liquidate liquified liquify liquifying liquor lisping listener listless
lit literacy literally literary literature litres litter littler littlest liveable livening liver livestock livings
loadable loaf loafers loan loathed lobe locate location locker lockets locomotive locusts lodge lodgers loft log logic
logical logo loiters lolling lone longest longhand lookout loomed loonier loonies loosest looted lopping lord lore
loser lottery lotus louder lounge loveable lovelies lover lovingly lowdown lowest lowlier loyal lozenge lucky lugging
lulling lumber lunchtime lung lurched lure lurking lush lust lying lynch lyrics mace machete mad madame madden madhouse
madman magazine magic magical magnetic maid maiden mail maiming mainframe mainland mainline mainstay mainstays
mainstream maintain maintenance maize major majority makeup male maligns mall mallets malting manage management mandate
mane mangers mangier mangoes manhandle manhole manhood mankind manner manor manpower mansion mantle manufactured
manufacturer manures manuscript map mappings mar marathon marble march mare margin maria marina marine maritime
markedly marker marketable marketplace markings marksman marksmen maroon marriage marry marshal mart martial martin
marvel mas mashing mask mason mass massage massive mast master mastery mat matchbook matchless matchmaker mate material
mathematical mathematics matrix matt mature mauling maximum mayhem mayor maze meal meanest meanings meantime meanwhile
measure mechanical mechanism medal meddled meddler media median mediate medical medicine medieval medium meet meetings
mellows melody membership memento memorial memory menials mental mentor meowing merchant mercury mercy mere merged
merger merit merrier meshing mess messy met meteor meter method metre metro metropolitan mice midday middleman
middlemen midgets midnight midst midstream midway midwife mighty mike mild mileages milestone military militia milkman
milkmen mill miller million mincing mindless miner mingles minibus minimum minions minister ministry minor minority
mint minuets minuses minuter minutest mirror misdeed misfits misread missile mission missionary missive mist mistaken
mistier misty mistype misused mixer moan moat mob mobilise mocked mockery mod model moderate modern modest modesty
modified module moisten moister mole molecular molests molten momentum monastery monitor monk monkey monkeys monster
monthlies monument moody moon moonlight moor moorings moose mooting moral morale moreover mortal mortar mosaic mosque
moss moth motherhood motion motive motorbike motorcycle motorise motorway moulted mound mount mountain mourning mouse
moussing mouthpiece moveable movement movie mud muddled mulched mule mulling multi multiple multiply mumbles munched
municipal municipality murder murmured muscle muse museum musical musician muskets mussing mustard muster mutant mute
mutter mutual myself mysterious mystery mystic nail naive naked nameless napping narrative narrow nastily nation
national nationalist native natural nature naughty naval navy nay nearby nearer nearest neat necessary neckline nectar
needier needless needlework needy negating negative negotiations neighbourhood neighed neon nephew nerves nervous nest
net nettling network neuters neutral nevertheless newbies newest newsletter newspaper newsprint newsstand newt newton
niche nick nickel nickname niece nightfall nighttime nimbler ninety ninth nippier nipple noble nod node noiseless
noisier noisiest noisily nominated nomination norm normality northeast northeastern northerly northern northward
northwest northwestern nosebleeds nosiest notable notably notched notebook noticeable noticeboard notified notifies
notifying notion noughts noun nova novel novice nowhere nuclear numbest numerous nun nurse oak object objective
observation observed obtain occasion occasional occupation occupied occur ocean ode offence offends offensive offhand
officer official offload offset offsprings offstage oftener oil oldest oncoming oneself ongoing onion onset onward
opaquer opaquest opener openest opera operand operatic operation operational operative opinion opponent opportunity
oppose opposition oppress opt option oral oratory orbit orchestra ordains ordeal orderlies ordinary ore organ organic
organisation organised orient orifice origin original originated ornate orthodox otherwise otter ounce ousted ousters
outbreak outburst outclass outcome outdated outdoes outdone outdoor outer outfit outgoing outgrow outhouse outlaid
outlast outlaw outlays outline outlive outlook outlying outnumber outpost output outright outruns outset outshine
outsider outspoken outstanding outstation outstrip outward outwits ovaries overall overate overbear overblown overboard
overcame overcharge overcoat overcome overdid overdoes overdone overdue overeat overgrow overhand overhang overhead
overhear overheard overkill overlaid overland overlay overlays overlie overlies overlong overlook overlying overnight
overpass overpower overprice overprint overran overrate overreact overrode overrule overrun oversaw overseas oversee
overseen oversees overshot oversight oversleep overstep overtake overtaken overthrew overthrow overthrown overtime
overtly overtook overturn overuse overweight overwork overwrite owe owl ownership oxygen oyster pace pacemaker pacific
pack package packers packet pact pad paddle paddock painless painter paintings pair pal palace palates paler palette
palling palm pampers pan pancake panders panelled pang panic panicky pansies panther pantry pants paperback paperwork
par parade parallel parcel parched parent parish parkway parliament parliamentary parole parrot parsecs parsing parsons
partake partial participants participate participation particular partied partings partner partnership partying pas
passable passage passbook passenger passion passive pasta paste pastels pastiche pastime pastor pasture pat patch
patent path patient patrol pattern patters patty paunchy paupers pause pavement paving pawn paws payable payload
payroll pea peace peak pealing pearl peck peddled peeked peeled peeping peer pelting pen penalty pending peninsula
peonies pepper pepping per perceived percentage perched percussion perfecter perform performance perilled period
perking permanent permeating permission permitted persecute persists persona personable personal personality personnel
perspective pertain pertest perused pervert pest pesters pet petals peter pettier petty pewters philosophy phoenix
phoneys phonics phonied phonier phonying photographer photography photon phrase physical physician physics piano pick
pickaxe picket pickled pickpocket pickup piddled piecework pier pierce pig pigment pigpens pike pile pill pillage
pillow pimples pinches pine pinions pioneer pipeline piquing pirate pistol pit pitch pitcher pitying pivoted placate
placidly plague plaid plain plane planet plank plant planter plaque plaster plastic plateau platform platinum platter
playable playback player playground playhouse playmate plaything playthings plaza pleaded pleas pleasant pleasure
pleated pledged plight plopped plot plotter ploughs plucked plum plumage plumbed plume plump plunge plush plusher
plusses poached pocketbook pod poem poet poetry pointedly pointer pointless poised poke poker policeman policemen
policewoman policy polish polite politer political politician politics polkaed pollution polo ponchos ponder pony
poodles pooping poorer pop pope poppies popular popularity population porch pork port portal portend portent porter
portion portlier portrait portray portrayed posed position positive possessed possession possibility possibly postal
postbox postcard postcode poster postman postmark postmen posture pot potato potent potential pothole potter pottery
pouched poultry pounced pouting poverty powder powdery powerful powerhouse powerless practical practice praise prances
prattle pray prayer precise predecessor predict prediction prefect prefer pregnant preliminary premier premiere premise
premiss preparation presence presentable presentation presenter preservation preserve preside presidency president
presidential press pressure prestigious presume prevent previous prey priceless prick prickle pricklier pride priest
primarily primary prime primers primped prince princess principal principle printable printout prior prising prison
prisoner private privater prize pro probable procedure proceed proceeded proceedings procure prodded produce producer
productive profane profess professional professor proffer profile profit program programme programmer progress
progressive project projectile projection prominent promote promotion prompter prone pronounced proof propelled propels
properer property prophecy prophesy prophet proposal propose props prose prosecutor prospector prosper protect
protection protector protein protest protestant protocol prototype proud prouder provably proven proverb provide
province provincial provisions prowess prowler proxy pruning psychological psychology pub publication publish publisher
puck puckers pudding pulleys pullover pulsate pulse pumpkin pun punch punctuate puncture punish punishment punk punt
punters pup pupils puppet puppy purchase pure purging purity purple purpose purse pursue pursuit pushers pushier
pushover pussy putters putties puzzle pythons quacked quainter qualification qualified qualify qualifying quality
quantum quartet queen queerer quest question questionable quicken quieter quietest quilt quintet quirked quit quitter
quiver quota rabbi rabbles race racial raciest racist racoons racquet radar radial radiate radiation radical radishes
radius raffles rafters rafting rage raid raider rail railroad railway railways raincoat raindrop rainfall rainier
rainwater rainy raisins rake rallies rally ram rambled rambler ramp rampage ranch random range ranger rankest rankles
ransoms ranting rap rapid rapport rare rash rashest rasped rat rate ratings ratio rations rattler rave ravened ravine
ravings ravished ray reacting reaction reactive reactor readable reader readied readjust readying realism realist
reality realm reaming reaper reaping reasonable rebating rebel rebellion rebound rebuilt rebutting recall recants
receding receiver recent reception receptive recess recipient recitation reciting recognised recognition recommended
reconnaissance reconstruction recorder recordings recover recovery recreation recruited rector red redhead redoing
reduce reduction reef reeking reel refer referee reference refined reflect reform refrigerate refugees refunds refused
refutation refuting regain regal regard regardless regent regime regiment region regional register registration regress
regret regulation rehashed rehearse reign rein reject rejoin relapse relate relation relationship relative relaxed
relay relaying relegate relents relevant relief relies relieve religion religious reloads relocated remade remainder
remaking remark remedy remind remitting remote remoter removal renaissance renamed render rending renowned rental rents
reparation repaying repeal repeat repeatedly repents repetition replacement replay replete replica replied replies
reply reportedly reporter represent representation representative republic republican repudiation reputation reputedly
reputing request require requirements rereads rescinding rescue research researchers resents reserve reservoir reside
residence resident residential resign resignation resist resistance resolution resolver resort resound resource respect
respective respite respond response responsibility responsible restive restless restoration restore restrain restricted
resumed retail retain retards retches retired retirement retorts retract retreat retries retrieved returnable reused
rev reveal revelled revenge revenue reverts review revised revival revolution revolutionary revolver reward rhythm rib
rice rich richer rickety rid riddle rider ridge rifle rifting rig righter rightmost rigours ringlet rioters rioting
ripe ripened ripple risk risky rite ritual rival rivetting roadblock roadside roam roar rob robber robbery robe robin
robot robust rocker rocket rocky rode roe roller roman romance romantic rook rookie roommate roosted root rope rose
roster rot rotary rotate rottener rotunda rough roundabout rounder rousing route routine rowdies royal royalty rubber
rubble ruby rudder rude rue ruffing rug rugby ruin ruler rulings rum rumpled runaway rundown rune runner runway rural
ruse rust rustles rusty rutting sabres sac sack sacred sacrifice saddens saddle safety sage sail saint sake saleable
salesman salesmen salespeople salesperson saleswoman salient sallower salon saloon salt saltest salty salute salving
sample sampler sanctuary sand sandy sane sang sanity sank sap saplings sash satanic satellite satin satire satisfied
satisfy saucers saucier saucing sausage savage savings saxophone sayings scabbed scalars scalier scalp scamper scanning
scanted scarce scarcer scare scarfed scarier scarlet scarves scary scathing scatter scene scenery scenic scent sceptre
schedule scheme scholar scholarship schoolboy schoolchild schoolteacher science scientific scientist scoffed scolded
scollop scooped scooted scope scorer scorned scotch scout scowling scrammed scrap scratch scratchier scratchy scrawls
scrawny scribble scribe script scruffy scruple scuffed scuffle sculpture scummed scurries scuttling sea seam seamen
seaports search sears seasonable seasonal seaweed sec seclude secondary secrecy secret secretary secrete sect section
sector secure security sedating seduce seed seek seepage seething segment seizure select selection seller semifinals
seminary senate senator senior sensation sense sensitive sentence separation separator sequel sequence serene sergeant
serial series serious sermon servant server serviceable serviceman servicemen servile session setback settable setters
settle settlement settlers seventh seventy severe sewing sexual sexy shack shackle shade shadow shadowy shady shaggy
shakier shaky shallower sham shame shark sharpen sharper sharpest shave shavers shaykhs shear sheath sheathe sheaves
shed sheen sheep sheer shell sheller shelter shelved sherbet sheriff sherry shield shift shimmer shin shine shingle
shinier shiny ship shire shirked shirt shiver shoaled shodden shoe shone shooing shook shoot shopper shore shortage
shortcoming shorten shorter shortest shortfall shorthand shortlist shot shoulder shove shovel shovelled showcase
showdown showier showings showman showmen shrill shrimp shrine shrink shrivel shrouds shrubs shrugs shrunken shucked
shudder shuffle shunned shunted shutdown shutter shuttle shy sibling sic sick sickens sickest sickles sideline sidelong
sideshow sidestep sidewalk sidings sidling siege sierra sifting sigh sight signal signature significance significant
signify signpost silenter silk sillies silly silting silver silvery similar similes simmers simpler simplest simplex
simply simultaneously sin sincere sincerest singer sinister sinners sip siphons sire sirens sissier sisterhood site
sitters situated situation sixteen sixth sixty sizable sizeable skate skater sketch sketchy skewers skewing ski skidded
skill skimmed skinny skipper skirts skulked skull skunked sky skyline slaking slam slander slanting slap slapstick
slash slate slave slavery slaying sledded sleek sleeper sleepless sleepy sleeted slept slewing slice slick slicker slid
slight slim slimier slimmer sling slinked slipper slit slither slitter slogged slope sloppy sloshed slouched slovenly
slower slugged sluiced slummed slummer slump slung slurred sly smacked smart smattering smelted smidgen smirked smith
smiting smocked smoke smokers smokier smokiest smooth smoother smother smugger smuggest smuggle snacks snagged snails
snake snap snappier snaring snarled snatch sneak sneaker snicker sniff sniffle sniping snippet snitched snooker snoop
snoozing snoring snort snout snowball snowfall snowier snowy snubbed snuck snuffed snuffer snuggest snuggles soared
sobbed sobering soccer social socialist society sock soda softball softens softer software soggiest soil solaced solar
sold solders soldier sole solider solidify solidity solitude solo solution solved solvent someday somehow someplace
sometime somewhat somewhere song sooner soothe sopping sorcery sore sorrow sought soul sounder soundest soundtrack sour
source southeast southeastern southern southward southwest southwestern sox spa space spacial spade spangle spanked
spankings sparest sparkle sparkler sparks sparse sparser spat spatter spawned spaying speaker spear specialist species
specific specifically specked spectrum sped speech speedy spell speller spellings spewing sphere sphinges sphinx spice
spicy spider spies spigots spike spinal spindly spine spinster spiral spiralled spire spirit spiritual spite spittle
splash splatter spleens splints splurge spoiled sponge sponsored spoofed spooked spooled spoon spores sport spotless
spotlight spouse sprains sprang sprawls spreeing springy sprinkle sprint sprinter sprouts spruce sprung spun spurned
spurs spurting sputter spy squad squadron squalls square squash squatted squatter squawks squeaky squeeze squinter
squints squire squirms stab stabler stablest stack stadium stagger stains stairs stake stalemate stalest stalk stall
stallion stamina stammer stamps stance stanched standard standby standbys standoff standpoint standstill stanza staple
stapler starchy stare stark starker starlight starter startle statement statistical statistics statue stature status
statute staunch staving steadier steady steadying steak steal steamier steel steep steeper steeple steer stencil stereo
sterile sterling stern stewards stewing sticker sticky stiffen stiffer stifled stiller stilted sting stinger stint stir
stitch stockade stockpiling stoke stole stolen stolider stolidly stomach stomped stonier stony stood stooped stopgap
stopover stoppage stopper stopwatch storehouse storeroom storey storeys storm stormy stove stowing straggle straggler
straighter strain strait strand stranger strangest strangle strata strategic strategy stratify stray strayed stream
streamer streamline streetcar strength stress stretch strewed strewn strict stride strife strike striker string stringy
strip stripe stripper strive strode stroke stroll stronger stronghold struck structural structure struggle strumming
strung strutting stubbed stuck studied studio study studying stuffier stumble stump stunned stunt stupefy stupid
stupors sturdy stutter sub subject sublime submarine submitted subsequent subsidiary substantial substitute suburb
succeed succeeded success successful succession successor sucker suckled sudden sue sued suffer sufficient suffocate
suffocation sugar suggester suicide suit suitable suitably suite suitors sulkies sultan summer summit summon sunburn
sunburnt sundown sung sunglasses sunk sunlight sunrise sunscreen sunset sunshine suntans super superior suppers suppler
supplied supplies supplying support supporters supreme surface surfing surge surgery surrender surrounded survey
survival survive survivors suspect suspend suspension sustained swabbed swallowed swam swarmed swarthy swat swathed
sway sweat sweater sweaty sweep sweeten sweeter sweetheart sweller swellest swellings swept swerved swigged swilled
swindle swiped swisher swishest switchable switcher swivelled swooned swooped sword swore swung symbol symphony
symptoms synapse syndrome syphons syringe system tabbies tablecloth tablespoon tablet tabuing tabulate tack tackle
tactical tag tail tainted takeoff takeover tale talent talkers tall taller tallest tallying tame tampers tan tang
tangle tangoing tanker tanner tar target tarried tarries tarrying tartest task tassels tasteless tastier tastiest
tattles taught taunted tautest tax taxable taxis taxying tea teach teammate teamster teamwork teardrop tease technical
technique technology tee teeming teen teeth televising teller temper temperate temperature temple temporarily temporary
tenable tend tender tennis tense tension tent tenth tenure term terminal terminate termini terminus terribly terrified
terrify terrifying territorial territory terror test testable testers testify tethers text thankless thatched theatre
theatrical thee theists theme themselves thence theology theorem theory therapy thereafter thereby therefore therein
thereof thereon thesis thicken thickest thicket thighs thinker thinnest thirst thirteen thirty thistle thong thorn
thorough thoughtless thousandth thread threat threatened threshed threw thrifty thrill thrive throat throbbed throne
throngs throttle throughout throughput throwaway throwback thrown thrust thumb thump thunder thus thwarts thy tickled
tide tidy tied tier tiffing tiger tight tighten tile tilt timber timeless timer timescale timetable timider timings
ting tingle tinkers tinkled tinnier tinsels tinted tirades tire tireder tissue title tits titters toad toasted toe
toiling token tolerate toll tomb tome ton tone tongue tonnes tooting topic toppling tore torque torture toss totality
totalled totters totting toucans touchdown touchier touchings tough tougher toupees tour tourist tournament touting tow
toward towelled tower toy trace track traction tracts trade trademark trader tradition traditional tragedy tragic trail
train trainee trainer traitor traits tramped trample trance transfer transform transformation transit transition
translated translation transmission transparency transport transportation trapeze trapper trappings trashed travelled
travesty trawled treachery tread treason treasure treat treatment treaty trebling tremble trends trestle trial trialled
triangle tribal tribe tributary tribute trick trickery trickier trickiest tricky tricycle trifled trilled trim trimmer
trinity trio triple triplet tripods tritest trolls trooper troops trophy tropical trotted troublemaker troublesome
trough trounce troupe trowelled trowels truce trump trunk trustee truth tryouts tsar tub tuba tube tuck tufting tumults
tune tunnel turbans turbine tureens turf turkey turnaround turner turnips turnout turnover turnstiles turntable turtle
tweaked tweed tweeted twigs twinged twinkle twirled twisted twister twitch twitter tying typeface typeset typical
typists ultimate unable uncle uncomfortable undercover undercurrent undercut underdog underflow underfoot undergo
undergone undergraduate underground underlay underlie underlies underline underlying undermine underpass underside
understandable understood undertake undertaken undertakings undertone undertook underwater underwear underwent
underworld underwrite unerring unfailing unfilled unfit unfortunately ungainly uniform union unique unite unity
universal universe university unknown unlike unnamed unnerve unnoticed unseen unsuccessful untiring unto unused unusual
unveils unwilling update upended uphold uplifted upon upper upside upstairs upstanding upstart upstream uptight uptown
upturns upward urban urge urgent urine usage useable useful useless using vacuous vain valley valuable value vampire
vane vanish vanities variable variant variation varies variety various vary vase vast vatting vault veering vegetable
vehicle veiling veining velvet vendors ventilate ventilation venture venue verb verge verify verifying verse version
versus vertical verve vessel vest vet veteran via vibrant vice victim victor victory video view viewers vii villa
villager vine vintage vinyl violate violence violent violet violin virgin virtual virus visible vision visitor visual
vital vocal vocalist voiding volleyball volume volunteer vote voters vouched voyage vulnerable waddling wade wafting
wage wagered wailing waist waived waivers wakening walker walkout wallet wallops wallows wallpaper walnut wan wand
wander wantons war warbling ward warden warfare wariest warmer warmest warmth warn warp warren warrior wartime wary
washable washcloth washings washout washroom wasp wastage wastebasket watchdog watchman watchmen watchword watercolour
waterfall waterfront watershed watertight waterway waterworks watt wave wavered wavy waylaid wayside wayward weak
weaken weaker weakest weakling wealth wealthier wealthy weaning weapon wearier weary wearying weave weaver weddings
wedging wee weeds weekday weekdays weeklies weigh weight weighty weirder weirdos welded welders welfare wellington
welters welting wept westerly western westward whacked whale whalers wharves whatsoever wheat wheedle wheelchair
wheezing whenever whereas whereby wherein wherever whetted whichever whilst whinnied whinnies whinnying whipped whirled
whirred whisper whitens whitest whitewash whittle whoa wholesale wholesome whom whopper wicked wickers wicket widened
wider widespread widow wigging wild wilder wildlife wilfully willow willpower wilting wince winched wind windfall
windier windowpanes windpipe windscreen windy wing wingers wink winner winsome winterier wintertime wintery wintrier
wiriest wise wit witch withdrew withers withhold within withstand witness witty wives wizard woke wolf wolves womanhood
womankind women won wonderful woo wooden woodwind woodwork woody woolies wordier workable workbook workings workload
workman workmen workout workplace workshop workstation worldwide worm worn worried worrying worsens worship worth wound
wounder wrangle wrapped wreaked wreath wreathe wrecker wren wrested wrestle wretched wright wringer wringing wrist
wristwatch writ writer writhed writings written wrongdoing wronger wrote wrought wry yacking yakking yapping yard
yearlies yelled yellower yessing yogurts younger youngest yourself youth yowling zero zinc zincked zipper zone zooming
"""
ENGLISH = frozenset(_WORDS.split())

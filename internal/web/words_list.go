package web

// Where words come from.
const (
	ours     = "these pages"
	plainly  = "plain English"
	tankers  = "tank trade"
	gasmen   = "gas trade"
	checkers = "calibration trade"
	alarms   = "alarms, IEC 62682 and ISA-18.2"
	linears  = "errors of the sender, IEC 61298-2"
	faulty   = "kinds of fault, NAMUR NE 107"
	doubts   = "doubt, JCGM 100 and 101"
	ranges   = "instrument trade, IEC and ISA vocabulary"
)

var wordsOfBench = []word{
	{Name: "mark", From: plainly, Meaning: "The true position of the sender: percent on its dial, the height of its float, or what was poured in.",
		Example: "With the pointer at 40 on the dial, the mark is 40 %."},
	{Name: "reading", From: "metrology", Meaning: "One mark with the ohms that belong to it on the bench, or one time with its ohms in service."},
	{Name: "sweep", From: "metrology", Meaning: "A run of readings in one direction, up or down.",
		Example: "One sweep up and one down show how far the sender lags behind."},
	{Name: "curve", From: "calibration curve", Meaning: "What the sender does: ohms at every mark, fitted to the readings, with how well that is known."},
	{Name: "dead travel", From: ours, Meaning: "The mark moves and the ohms don’t, most often near an end."},
	{Name: "hysteresis", From: linears, Meaning: "The difference between what the sender gives at one mark on the way up and on the way down."},
	{Name: "later check", Also: []string{"service"}, From: ours, Meaning: "A few readings of a sender, a season or some years after its record was made, that tell whether it has changed."},
	{Name: "sender type", Also: []string{"type"}, From: ours, Meaning: "Senders of one kind, of which several were read in full: their common curve, and how far one differs from another."},
	{Name: "repeatability", From: linears, Meaning: "How closely the sender gives the same again at one mark, approached the same way."},
	{Name: "independent linearity", Also: []string{"linearity"}, From: linears, Meaning: "How far the curve lies from the straight line that fits it best."},
	{Name: "terminal-based linearity", From: linears, Meaning: "How far the curve lies from the straight line through its two ends."},
	{Name: "zero-based linearity", From: linears, Meaning: "How far the curve lies from the best straight line through its lower end."},
	{Name: "combined standard uncertainty", Also: []string{"standard uncertainty"}, From: doubts, Meaning: "Every doubt about a figure taken together, as one standard deviation."},
	{Name: "coverage interval", Also: []string{"doubt"}, From: doubts, Meaning: "The range in which the true value lies with a stated probability, here about 95 % where nothing else is said.",
		Example: "A curve that is good to ±1.3 points is right within 1.3 points in about 19 cases of 20."},
	{Name: "function check", From: faulty, Meaning: "What is shown for now isn’t the level, because someone is working on the sender or trying it."},
}

var tankWords = []word{
	{Name: "scale", From: ours, Meaning: "What 100 % means on the display: the end of the dial (mark), of the whole tank (volume), of what may be filled in (fill), or of what can be drawn of that (usable)."},
	{Name: "heel", From: tankers, Meaning: "What is left in the tank when nothing more can be drawn."},
	{Name: "ullage", From: tankers, Meaning: "The empty part of a tank, above the liquid."},
	{Name: "strapping table", From: tankers + ", API and ISO", Meaning: "A table of heights in a tank with the volume up to each."},
	{Name: "water capacity", From: gasmen, Meaning: "The whole inside volume of a tank, as stamped on its plate.",
		Example: "It isn’t what may be filled in: that is the permitted fill."},
	{Name: "permitted fill", From: gasmen, Meaning: "The part of the water capacity that may be liquid; the tank’s plate and the local code decide.",
		Example: "For LPG in a vehicle or leisure tank 80 % is common practice, so that the liquid has room to expand in the sun."},
}

var settingWords = []word{
	{Name: "readout", From: ours, Meaning: "Whatever receives the sender and shows a level: a needle, an input with two end values, or an input with a table."},
	{Name: "span", From: ranges, Meaning: "The two end values between which a readout shows 0 to 100 %."},
	{Name: "lower range value", Also: []string{"LRV", "lower and upper range value"}, From: ranges, Meaning: "What the sender gives where the readout is to show 0 %, as keyed in."},
	{Name: "upper range value", Also: []string{"URV"}, From: ranges, Meaning: "What the sender gives where the readout is to show 100 %, as keyed in."},
	{Name: "damping", From: "process instruments", Meaning: "How slowly a display follows a change, as the time in which it has gone 63 % of the way."},
	{Name: "as found", From: checkers, Meaning: "A check of the display before anything was adjusted."},
	{Name: "as left", From: checkers, Meaning: "A check of the display after the last adjustment, as it is handed over."},
}

var faultWords = []word{
	{Name: "failure", From: faulty, Meaning: "The sender or its wire is broken, and what it gives says nothing of the level."},
	{Name: "out of specification", From: faulty, Meaning: "The sender works, but outside what it was read for, so its level is in more doubt than usual."},
	{Name: "maintenance required", From: faulty, Meaning: "The level is still right, but the sender will need someone before long."},
	{Name: "on-delay", From: alarms, Meaning: "How long something has to be so before the alarm for it begins."},
	{Name: "off-delay", From: alarms, Meaning: "How long something has to be over before the alarm for it ends."},
	{Name: "deadband", From: alarms, Meaning: "How far a level has to go back past its limit before the alarm for it ends."},
	{Name: "shelved", From: alarms, Meaning: "An alarm put aside by a person for a time that ends by itself."},
	{Name: "acknowledged", From: alarms, Meaning: "An alarm that a person has said they have seen."},
}

// howAJobGoes is how a job goes, a sentence a step.
var howAJobGoes = []howStep{
	{"Start", "Start a job for the customer, and add the tanks with what is in each."},
	{"Bench", "Hold the sender at one mark after another, up and down, and take the ohms at each."},
	{"Curve", "See what the sender really does, how well that is known, and which claimed span it fits."},
	{"Set", "Choose what 100 % is to mean, and key the numbers you are given into the readout."},
	{"Prove", "Hold the sender at three marks or more and write down what the display shows, before the tank is closed."},
	{"Record", "Print the record, sign it and hand it over."},
}

// generalCautions are those that hold for any job with gas or fuel; what they
// say is general knowledge of the trade (common practice, no source). A tank's
// own page has those of the tank.
var generalCautions = []string{
	"Gas and fuel burn, and their vapour can explode. Work on the dial head off the tank, in open air, away from flames, sparks and anything that switches.",
	"Touch only the small screws that hold the dial. The larger fasteners around it hold the pressure: never slacken them.",
	"Never fill beyond the permitted fill, whatever a display shows. The tank’s own filling stop and level gauge decide.",
	"A display shows what its sender gives. It finds no leak and stops no filling.",
	"The local code comes before anything written here. Leave connections, and every part that holds pressure or fuel, to someone licensed for that work.",
}

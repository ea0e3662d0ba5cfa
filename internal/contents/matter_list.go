package contents

import (
	"slices"

	"gaugewright/internal/quantity"
)

// How far a figure was looked at.
const (
	matterReprinted = "the standard's limits as widely reprinted; the standard wasn't opened"
	matterMemory    = "the standard's limits, from memory"
	matterPractice  = "common practice, no source"
)

// matterHeat says where the heating values are from. The whole MJ/kg of a law
// are good to half of one. The low ends are those of a fuel with all the
// renewable parts that its standard allows (from memory): 10 % of volume of
// ethanol (27 MJ/kg) are 10.5 % of the mass of petrol and leave 41.3 MJ/kg, 7 %
// of esters (37 MJ/kg) leave 42.6 MJ/kg of diesel.
const matterHeat = "lower heating values of Directive 2009/28/EC, annex III, as restated in French law (arrêté of 2 May 2012, annex I); the low end allows for ethanol and esters"

// ureaExpansion is the thermal expansion of a 32.5 % urea solution in 1/K: wide
// enough for what is quoted of it (from memory, no source).
var ureaExpansion = Range{3e-4, 4.5e-4, 6e-4}

// ureaHottest in °C; above that the solution begins to decompose (from memory).
const ureaHottest = 60.0

// matterEntry is one liquid with the other names that people use.
type matterEntry struct {
	matter Matter
	others []string
}

// give hands out a copy that may be changed.
func (e matterEntry) give() Matter {
	m := e.matter
	m.Cautions = slices.Clone(m.Cautions)
	return m
}

const (
	matterFrost     = "It freezes at 0 °C and takes 9 % more room as ice, which bursts tanks, pumps, pipes and heaters: drain them before frost."
	matterFuelGrows = "Fuel grows as it warms, by about 1 % for 10 °C. It needs that room: a tank filled to the brim runs over in the sun."
)

var matterList = []matterEntry{
	{Matter{
		Name: "water", Title: "water", Kind: KindWater,
		Mark:   "CIPM formula of 2001 to 40 °C, Kell 1975 above; tap water is up to 0.5 kg/m³ denser",
		Base:   matterExactly(waterCIPM(15)),
		BaseAt: quantity.Celsius(15), FreezesAt: quantity.Celsius(0),
		Cautions: []string{matterFrost},
	}, []string{"fresh water", "drinking water"}},
	{Matter{
		Name: "diesel", Title: "diesel fuel", Kind: KindDiesel, Standard: "EN 590", Mark: matterReprinted,
		Base: matterBetween(820, 845), BaseAt: quantity.Celsius(15),
		Net: Range{42.1e6, 42.8e6, 43.5e6}, NetMark: matterHeat,
		Cautions: []string{matterFuelGrows, "Arctic grades may be lighter, down to 800 kg/m³ (from memory)."},
		law:      matterAsFuel,
	}, []string{"diesel fuel", "EN 590"}},
	{Matter{
		Name: "paraffinic diesel", Title: "paraffinic diesel fuel", Kind: KindDiesel, Standard: "EN 15940", Mark: matterMemory,
		Base: matterBetween(765, 800), BaseAt: quantity.Celsius(15),
		Net: Range{43.5e6, 44e6, 44.5e6}, NetMark: matterHeat,
		Cautions: []string{matterFuelGrows},
		law:      matterAsFuel,
	}, []string{"hvo", "paraffinic diesel fuel", "EN 15940"}},
	{Matter{
		Name: "petrol", Title: "petrol", Kind: KindPetrol, Standard: "EN 228", Mark: matterMemory,
		Base: matterBetween(720, 775), BaseAt: quantity.Celsius(15),
		Net: Range{41e6, 42.25e6, 43.5e6}, NetMark: matterHeat,
		Cautions: []string{matterFuelGrows},
		law:      matterAsFuel,
	}, []string{"gasoline", "EN 228"}},
	{Matter{
		Name: "urea solution", Title: "urea solution (AUS 32)", Kind: KindOther, Standard: "ISO 22241-1",
		Mark: "the standard's limits as reprinted; its expansion is from memory",
		Base: matterBetween(1087, 1093), BaseAt: quantity.Celsius(20), FreezesAt: quantity.Celsius(-11.5),
		Cautions: []string{
			"It freezes at −11.5 °C and takes some 7 % more room then (common practice, no source): a full tank bursts, so leave room in frost.",
			"It eats copper, brass, zinc and bare steel (common practice, no source): a sender for it must be made for it.",
			"It must never get into a fuel tank, nor fuel into its tank.",
		},
		law: matterAsUrea,
	}, []string{"aus 32", "def", "diesel exhaust fluid", "urea", "ISO 22241"}},
	{Matter{
		Name: "grey water", Title: "grey water", Kind: KindWaste, Mark: matterPractice,
		Base: matterBetween(1000, 1020), BaseAt: quantity.Celsius(15), FreezesAt: quantity.Celsius(0),
		Cautions: []string{matterFrost, matterFoul},
	}, []string{"gray water"}},
	{Matter{
		Name: "black water", Title: "black water", Kind: KindWaste, Mark: matterPractice,
		Base: matterBetween(1000, 1020), BaseAt: quantity.Celsius(15), FreezesAt: quantity.Celsius(0),
		Cautions: []string{matterFrost, matterFoul},
	}, []string{"sewage"}},
	{Matter{
		Name: "waste", Title: "waste water", Kind: KindWaste, Mark: matterPractice,
		Base: matterBetween(1000, 1020), BaseAt: quantity.Celsius(15), FreezesAt: quantity.Celsius(0),
		Cautions: []string{matterFrost, matterFoul},
	}, []string{"waste water"}},
}

const matterFoul = "It gives off gases that can poison and burn, and it fouls senders: air the place before opening the tank, and check the display more often."

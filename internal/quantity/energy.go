package quantity

// Joule is an energy in joules; it is shown in kilowatt-hours.
// 1 kWh = 3.6 MJ exactly.
type Joule float64

// Watt is a power in watts; it is shown in kilowatts.
type Watt float64

// Pascal is a pressure in pascals; it is shown in bar. 1 bar = 100 kPa exactly.
// The type doesn't say whether a pressure is absolute or above that of the air
// (gauge); the name of whatever holds it has to.
type Pascal float64

// btu is the British thermal unit of the International Table, exact by
// definition: 1 Btu = 2326 · 0.45359237 J. Other Btu differ by up to 0.2 %.
const btu = 2326 * pound // J, 1055.055 852 62

// therm is 100 000 Btu of the International Table, 105 505 585.262 J exactly:
// the therm of the European Community and of British gas bills. The US therm,
// 105 480 400 J, is 0.024 % less; where it is meant, state the energy in MJ or
// kWh.
const therm = 100_000 * btu // J

var (
	energyUnits = []unit{
		{"kWh", 3.6e6}, {"Wh", 3600}, {"J", 1}, {"kJ", 1e3}, {"MJ", 1e6},
		{"therm", therm}, {"therms", therm},
	}
	powerUnits = []unit{
		{"W", 1}, {"kW", 1000},
		{"btu/h", btu / 3600}, {"Btu/h", btu / 3600}, {"BTU/h", btu / 3600},
	}
	pressureUnits = []unit{{"bar", 1e5}, {"mbar", 100}, {"Pa", 1}, {"hPa", 100}, {"kPa", 1000}, {"MPa", 1e6}, {"psi", psi}}
)

// String gives the energy in kilowatt-hours with up to two decimals.
func (e Joule) String() string { return Short(float64(e)/3.6e6, 2) + " kWh" }

// String gives the power in kilowatts with up to three decimals.
func (p Watt) String() string { return Short(float64(p)/1000, 3) + " kW" }

// String gives the pressure in bar with up to three decimals.
func (p Pascal) String() string { return Short(float64(p)/1e5, 3) + " bar" }

// ParseJoule reads an energy with its unit: "2.5kWh", "9MJ", "1 therm". All
// conversions are exact but for rounding; a therm is 105 505 585.262 J, that
// of the European Community and not that of the US.
func ParseJoule(text string) (Joule, error) {
	v, err := parse(text, "an energy", "2.5kWh", energyUnits)
	return Joule(v), err
}

// ParseWatt reads a power with its unit: "2.2kW", "800W", "7500btu/h".
// 1 Btu/h = 1055.05585262 J / 3600 s exactly (International Table).
func ParseWatt(text string) (Watt, error) {
	v, err := parse(text, "a power", "2.2kW", powerUnits)
	return Watt(v), err
}

// ParsePascal reads a pressure with its unit: "7.3bar", "37 mbar", "5kPa",
// "11psi". 1 psi is 0.45359237 kg · 9.80665 m/s² on a square of 0.0254 m,
// exactly; 6894.757 Pa.
func ParsePascal(text string) (Pascal, error) {
	v, err := parse(text, "a pressure", "30mbar", pressureUnits)
	return Pascal(v), err
}

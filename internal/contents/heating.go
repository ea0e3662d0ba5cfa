package contents

// Molar superior heating values at 25 °C, J/mol: ISO 6976:1995, table 3
// (propane 2219.17 kJ/mol, n-butane 2877.40, isobutane 2868.20). heatingWater
// is the heat of condensation of water at 25 °C in the same standard, 44.016
// kJ/mol; burning a mole of an alkane with n carbon atoms makes n + 1 of water.
var (
	heatingSuperior = [lpgParts]float64{2219.17e3, 2877.40e3, 2868.20e3}
	heatingWaters   = [lpgParts]float64{4, 5, 5}
)

const heatingWater = 44.016e3

// Heating gives the heat of combustion per kilogram, J/kg, by ISO 6976:1995
// with combustion at 25 °C and the gas taken as ideal: net (inferior), the water
// leaving as vapour, and gross (superior), the water condensed. Appliances
// without condensing use the net value; a name plate may state either, 8.6 %
// apart for propane. Divide by 3.6e6 for kWh.
//
// That is the heat of the gas. What it took to evaporate the liquid came from
// the tank's surroundings and is not taken off.
func (m Mix) Heating() (net, gross float64) {
	m.must()
	for i, w := range m.parts() {
		molar := eosFluids[i].molar
		gross += w * heatingSuperior[i] / molar
		net += w * (heatingSuperior[i] - heatingWaters[i]*heatingWater) / molar
	}
	return net, gross
}

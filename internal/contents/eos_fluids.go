package contents

// The parts of a mixture, in the order in which they stand wherever they are in an
// array.
const (
	lpgPropane = iota
	lpgNButane
	lpgIsobutane
	lpgParts
)

// eosFluids are the three parts of liquefied petroleum gas, in the order of
// the constants above.
//
// Propane: E. W. Lemmon, M. O. McLinden, W. Wagner, "Thermodynamic Properties
// of Propane. III. A Reference Equation of State for Temperatures from the
// Melting Line to 650 K and Pressures up to 1000 MPa", J. Chem. Eng. Data 54
// (2009) 3141-3180.
//
// n-Butane and isobutane: D. Bücker, W. Wagner, "Reference Equations of State
// for the Thermodynamic Properties of Fluid Phase n-Butane and Isobutane",
// J. Phys. Chem. Ref. Data 35 (2006) 929-1019. The reducing temperature of
// isobutane is 407.81 K; some compilations put the critical temperature, 407.817
// K, in its place. Only the former gives back the reference table in testdata to
// its last digit; the latter moves the vapour pressure by about 0.01 %.
//
// The constants were taken from public compilations of the two papers.
//
// The coefficients liquid and vapour are not from the papers. They are least
// squares fits to saturation densities found with these equations, good to
// 0.06 % and 3 %, and serve as the first guess only.
var eosFluids = [lpgParts]eosFluid{
	{
		name: "propane", critical: 369.89, density: 5000, molar: 0.04409562,
		terms: []eosTerm{
			{0.042910051, 1, 4, 0},
			{1.7313671, 0.33, 1, 0},
			{-2.4516524, 0.8, 1, 0},
			{0.34157466, 0.43, 2, 0},
			{-0.46047898, 0.9, 2, 0},
			{-0.66847295, 2.46, 1, 1},
			{0.20889705, 2.09, 3, 1},
			{0.19421381, 0.88, 6, 1},
			{-0.22917851, 1.09, 6, 1},
			{-0.60405866, 3.25, 2, 2},
			{0.066680654, 4.62, 3, 2},
		},
		bells: []eosBell{
			{0.017534618, 0.76, 1, 0.963, 2.33, 0.684, 1.283},
			{0.33874242, 2.5, 1, 1.977, 3.47, 0.829, 0.6936},
			{0.22228777, 2.75, 1, 1.917, 3.15, 1.419, 0.788},
			{-0.23219062, 3.05, 2, 2.307, 3.19, 0.817, 0.473},
			{-0.09220694, 2.55, 2, 2.546, 0.92, 1.5, 0.8577},
			{-0.47575718, 8.4, 4, 3.28, 18.8, 1.426, 0.271},
			{-0.017486824, 6.75, 1, 14.6, 547.8, 1.093, 0.948},
		},
		liquid: [4]float64{1.6153, 1.1223, -0.7920, 0.6741},
		vapour: [4]float64{-1.4061, -3.3773, -1.8507, -16.7987},
		top:    368.15,
	},
	{
		name: "n-butane", critical: 425.125, density: 3922.769612987809, molar: 0.0581222,
		terms: eosButane(
			2.5536998241635, -4.4585951806696, 0.82425886369063, 0.11215007011442,
			-0.035910933680333, 0.016790508518103, 0.032734072508724, 0.95571232982005,
			-1.0003385753419, 0.085581548803855, -0.025147918369616, -0.0015202958578918,
			0.004706068232642, -0.097845414174006, -0.04831790415876, 0.17841271865468,
			0.018173836739334, -0.11399068074953, 0.019329896666669, 0.001157587740101,
			0.00015253808698116, -0.043688558458471, -0.0082403190629989),
		bells:  eosButaneBells(-0.028390056949441, 0.0014904666224681),
		liquid: [4]float64{1.6763, 1.1879, -1.0613, 0.8919},
		vapour: [4]float64{0.2458, -8.8098, 6.2956, -27.2857},
		top:    398.15,
	},
	{
		name: "isobutane", critical: 407.81, density: 3879.756788283995, molar: 0.0581222,
		terms: eosButane(
			2.0686820727966, -3.6400098615204, 0.51968754427244, 0.17745845870123,
			-0.12361807851599, 0.045145314010528, 0.03047647996598, 0.75508387706302,
			-0.85885381015629, 0.036324009830684, -0.01954879945055, -0.004445239290496,
			0.004641076366646, -0.071444097992825, -0.080765060030713, 0.15560460945053,
			0.0020318752160332, -0.10624883571689, 0.039807690546305, 0.016371431292386,
			0.00053212200682628, -0.0078681561156387, -0.0030981191888963),
		bells:  eosButaneBells(-0.042276036810382, -0.0053001044558079),
		liquid: [4]float64{1.5865, 1.5718, -1.6595, 1.2060},
		vapour: [4]float64{-0.9301, -5.1593, 1.2349, -22.1053},
		top:    398.15,
	},
}

// eosButane gives the terms of either butane: the exponents are common to both.
func eosButane(n ...float64) []eosTerm {
	shape := []eosTerm{
		{0, 0.5, 1, 0}, {0, 1, 1, 0}, {0, 1.5, 1, 0}, {0, 0, 2, 0}, {0, 0.5, 3, 0},
		{0, 0.5, 4, 0}, {0, 0.75, 4, 0}, {0, 2, 1, 1}, {0, 2.5, 1, 1}, {0, 2.5, 2, 1},
		{0, 1.5, 7, 1}, {0, 1, 8, 1}, {0, 1.5, 8, 1}, {0, 4, 1, 2}, {0, 7, 2, 2},
		{0, 3, 3, 2}, {0, 7, 3, 2}, {0, 3, 4, 2}, {0, 1, 5, 2}, {0, 6, 5, 2},
		{0, 0, 10, 2}, {0, 6, 2, 3}, {0, 13, 6, 3},
	}
	for i := range shape {
		shape[i].n = n[i]
	}
	return shape
}

func eosButaneBells(n1, n2 float64) []eosBell {
	return []eosBell{
		{n1, 2, 1, 10, 150, 1.16, 0.85},
		{n2, 0, 2, 10, 200, 1.13, 1},
	}
}

// Package contents says what is in a tank: how much a litre of it weighs, what
// pressure it has, what heat is in it, how long that lasts and how much more may
// be filled in.
//
// Liquefied petroleum gas is reckoned from the reference equations of state of
// its pure parts and ideal rules of mixing; water, fuels and waste from the
// formulas and limits of their standards. Masses in kg, volumes in m³,
// temperatures in K, pressures in Pa (absolute unless the name says gauge),
// energies in J, powers in W; parts of a mixture are mass fractions 0..1 unless
// a name says otherwise.
//
// What a person stated and can't be gives an error; no function gives NaN.
package contents

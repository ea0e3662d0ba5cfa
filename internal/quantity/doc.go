// Package quantity has a type for each physical quantity the product handles,
// and reads and prints them with their units.
//
// Values are SI inside (ohm, metre, cubic metre, kilogram, kelvin, pascal,
// joule, watt, second) and a [Share] is a fraction, 0 to 1. Litres, gallons,
// millimetres, degrees Celsius and percent exist only in text: the Parse
// functions take them in, the String methods, [Units] and [Digits] put them
// out. The conversions are those of the units' definitions, exact but for
// rounding; where a unit has several definitions its function says which.
//
// Text from a person that can't be read gives an error that says what was
// found and what was expected; nothing in this package panics or returns NaN.
package quantity

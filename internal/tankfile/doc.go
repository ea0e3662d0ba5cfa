// Package tankfile reads tank files: what shape a tank has inside, where in it
// the level is read and what reads it, as JSON. [File.Tank] builds the tank.
//
// Lengths are in millimetres, volumes in litres, angles in degrees, each with
// its unit in the field's name. The schema is [Schema]; a field that isn't in
// it is refused by name.
package tankfile

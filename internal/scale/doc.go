// Package scale says what 100 % means. The same dial position is 80 % of the
// dial and 100 % of what may be filled; a figure without its scale is the usual
// reason why a display is thought to be wrong.
//
// A scale turns marks into the figure a customer should see. On the mark scale
// that is a straight line. On the others it goes through the part of the tank
// that is filled at a mark ([Filling]), and so bends as the tank does: of a
// lying cylinder a tenth of the height holds a twentieth of the volume.
//
// What a person stated and can't be gives an error; a Scale is usable only as it
// comes from [New] or [Through].
package scale

// Package alarm holds the alarms of a watch in the manner of IEC 62682 and ISA-18.2:
// what is to be called out, in which state it is, and what may be done about it.
//
// A [Point] is one alarm: its state is changed by [Act]s alone, as the standard's state
// diagram has them. A [Tank] has the alarms of one tank and makes acts of its levels,
// events and outlook. A [Caller] says what is to be told now: at once, again, after the
// quiet hours, or summed up.
//
// An alarm is never raised by doubt alone: see [Sure]. What isn't known neither raises
// nor clears one. Latched alarms, which the standard has too, aren't used.
//
// Time is an argument; nothing is sent from here. The standard's diagram, its words and
// its rules are used from memory.
package alarm

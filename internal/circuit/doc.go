// Package circuit has what lies between a resistive sender and what reads it:
// the wire and its joints, faults of the wiring, and inputs that turn ohms into
// volts and counts.
//
// Resistances in ohm, voltages in V, currents in A, powers in W, temperatures
// in K, lengths in m and areas in m². A point is one hundredth of the way from
// empty to full. What is only roughly known is a [Between].
//
// All circuits are reckoned at rest: direct current and pure resistances.
// Coils, capacitance, interference and the surges of a vehicle's supply aren't
// in it.
//
// What a person stated and can't be gives an error; no function gives NaN.
package circuit

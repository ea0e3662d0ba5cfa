// Package vehicle is a made-up vehicle: tanks whose surface is moved by
// driving, senders in them with their faults, and people who use and fill them.
// It gives readings as an input would take them, and beside each what was
// really in the tank.
//
// Nothing here was measured on a vehicle. Each figure says where it comes from:
// a formula with its source, a published test cycle from memory, or common
// practice.
//
// Time is the vehicle's own: nothing reads a clock, and the same seed and plan
// give the same readings to the last digit.
package vehicle

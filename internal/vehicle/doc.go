// Package vehicle is a made-up vehicle: a tank whose surface is moved by
// driving, a sender in it with its faults, and people who use and fill it. The
// same seed gives the same vehicle.
package vehicle

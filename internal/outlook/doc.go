// Package outlook says how fast a tank is used and how long it will last: an estimate
// of the rate that outlasts gaps and refills, the pattern of the day and the week, and
// from both an interval for the time that is left, whose coverage is held to what it
// says.
//
// All amounts are in parts of what the full scale holds. It reads no clock.
package outlook

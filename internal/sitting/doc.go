// Package sitting is a sitting at the bench: what a meter says and whether it
// stands still, which mark to go to next, and what may be done with a reading
// that was taken.
//
// It computes and keeps nothing: the time of everything is an argument, and
// what is taken, struck or corrected changes the [job.Tank] it is given.
package sitting

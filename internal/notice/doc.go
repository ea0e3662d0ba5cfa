// Package notice is what is sent to people and programs when an alarm is raised: what it
// says, by which ways, when it is tried again, and when it is given up.
//
// A notice has the time of what it tells, which stays when it is delivered later. Each
// way it goes by is a [Waiting] of its own, so that one that stands still holds no other
// up. Whoever sends keeps a Waiting on the disk before it is tried, and has [After] say
// what comes next; a notice may reach somebody twice, with the same ID, but is never lost
// without a word.
//
// Time is an argument; nothing is sent from here.
package notice

// Package notice is what is sent to people and programs when an alarm is raised: what it
// says, by which ways, when it is tried again, and when it is given up.
package notice

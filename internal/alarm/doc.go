// Package alarm holds the alarms of a watch in the manner of IEC 62682 and ISA-18.2:
// what is to be called out, in which state it is, and what may be done about it.
//
// Time is an argument; nothing is sent from here.
package alarm

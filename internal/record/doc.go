// Package record makes the handover record of a job: what was read on each
// sender, what was keyed in, what will be shown, how it was proved, and what
// to beware of, for the customer to keep and the fitter to sign.
//
// The record is a document model first ([Document]: sections of facts, tables,
// drawings and sentences), made by [New] from a job alone, and is then written
// as one HTML page that needs nothing from outside and prints on A4 and Letter.
//
// A tank that isn't finished says what is still to do. Where a tank holds gas
// or fuel its cautions stand before its figures, and a scale that could lead
// to overfilling is not shown at all.
package record

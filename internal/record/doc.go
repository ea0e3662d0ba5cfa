// Package record makes the handover record of a job: what was read on each
// sender, what was keyed in, what will be shown, how it was proved, and what
// to beware of, for the customer to keep and the fitter to sign.
//
// The record is a document model first ([Document]: sections of facts, tables,
// drawings and sentences), made by [New] from a job alone, and is then written
// as one HTML page that needs nothing from outside and prints on A4 and Letter, or
// as a PDF of the same content.
//
// The PDF is made of slabs: strips of the page that are never cut, each of which
// says how firmly it holds on to the next. A flow puts them on pages; what they
// draw is worked out before, so that it knows their heights. Text is set in two
// embedded fonts, whose widths are read here once for all documents.
//
// A tank that isn't finished says what is still to do. Where a tank holds gas
// or fuel its cautions stand before its figures, and a scale that could lead
// to overfilling is not shown at all.
package record

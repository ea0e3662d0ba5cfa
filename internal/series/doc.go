// Package series packs columns of whole numbers that were measured one after the
// other into few bytes, and rolls them up: least, most, sum and number.
//
// It knows nothing of tanks: what a step of a value or of a time is, says whoever
// packs.
package series

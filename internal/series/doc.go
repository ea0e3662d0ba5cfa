// Package series packs columns of whole numbers that were measured one after the
// other into few bytes, and rolls them up: least, most, sum and number.
//
// It knows nothing of tanks: what a step of a value or of a time is, says whoever
// packs. docs/history.md describes the bytes.
//
// Bytes that can't be right give [ErrDamaged]; what only a slip of the caller's can
// bring about panics. All of it may be called by many at once.
package series

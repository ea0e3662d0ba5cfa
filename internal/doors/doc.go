// Package doors says who may do what: pass phrases, tokens of programs, and links
// that let an owner look. It computes; what it makes is kept elsewhere, and the
// time is passed in.
package doors

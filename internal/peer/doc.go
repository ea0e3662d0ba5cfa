// Package peer lets a test ask a program that is not ours.
//
// A number worked out here is worth more when something written by other
// people, from other sources, gives the same one. The usual second opinion is
// SciPy, so [Python] runs a short script with JSON on its standard input and
// reads JSON from its standard output. [Tool] finds any other program, and
// [Beside] runs one, such as a server, beside a test.
//
// What is not installed can't be asked. A test then says what to install and
// is skipped; with CI=true in the environment it fails instead, so that a
// check which nobody ran never counts as one that passed. [Missing] is that
// policy, for whoever needs something else.
//
// The package is for tests only: nothing but _test.go files may import it.
package peer

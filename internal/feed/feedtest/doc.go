// Package feedtest is what the tests of every feed need: a [Tape] that stands in
// for the watch, and the examples of a page of the handbook.
//
//	s := &feedtest.Tape{Tanks: []string{"fresh"}}
//	stop := s.Run(t, f)
//	s.Wait(t, "a reading", func() bool { return len(s.Readings) > 0 })
//
// The package is for tests only: nothing but _test.go files may import it.
package feedtest

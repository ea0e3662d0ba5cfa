//go:build !race

package lookup_test

const raceDetector = false

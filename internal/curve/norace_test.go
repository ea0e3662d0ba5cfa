//go:build !race

package curve_test

const raceDetector = false

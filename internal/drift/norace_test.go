//go:build !race

package drift_test

const raced = 1

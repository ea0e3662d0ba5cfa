//go:build race

package drift_test

// raced is how many times fewer senders are simulated with the race detector on.
const raced = 8

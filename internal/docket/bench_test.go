package docket

import "testing"

// What five, fifteen and fifty dockets take to learn from: the page of the pump waits
// for it.
func BenchmarkLearn(b *testing.B) {
	for _, n := range []int{5, 15, 50} {
		list := season{dockets: n, stops: 0.6, out: 0.3}.of(shapes()[0], 3)
		b.Run(map[int]string{5: "5", 15: "15", 50: "50"}[n], func(b *testing.B) {
			for b.Loop() {
				Learn(gasTank(), list)
			}
		})
	}
}

package lookup_test

import (
	"testing"

	"gaugewright/internal/lookup"
)

func BenchmarkPoints(b *testing.B) {
	for _, c := range []struct {
		name   string
		bits   int
		points int
	}{{"12 bits, 12 points", 12, 12}, {"16 bits, 12 points", 16, 12}, {"16 bits, 2 points", 16, 2}, {"16 bits, 256 points", 16, 256}} {
		g := falling(b)
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				made(b, g, pullUp{220, 1<<c.bits - 1}, lookup.Options{Points: c.points})
			}
		})
	}
}

package readings

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"gaugewright/internal/curve"
)

// benchFile is a file of n readings with every column filled.
func benchFile(n int) string {
	var b strings.Builder
	b.WriteString("# demo data, invented\n" + freshHeader)
	for i := range n {
		fmt.Fprintf(&b, "%d,%d.%d,up,2026-11-03T09:30:00+01:00,\"float free, dial clean\"\n", i%101, i%240, i%10)
	}
	return b.String()
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{40, curve.MaxReadings} {
		text := benchFile(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				if _, err := Read(strings.NewReader(text), "x"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkWrite(b *testing.B) {
	s, err := Read(strings.NewReader(benchFile(40)), "x")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := Write(io.Discard, s); err != nil {
			b.Fatal(err)
		}
	}
}

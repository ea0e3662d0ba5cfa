package main

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
)

// BenchmarkReplay gives readings a second through the whole verb: read, placed by
// time, watched, and written as JSON.
func BenchmarkReplay(b *testing.B) {
	const n = 200_000
	var text bytes.Buffer
	text.WriteString("time,ohm\n")
	for i := range n {
		fmt.Fprintf(&text, "%d,%.2f\n", 1772352000+10*i, 100+float64(i%97)/100)
	}
	for _, args := range [][]string{{"--json"}, {"--json", "--every", "60s"}, {}} {
		b.Run(strings.Join(append([]string{"replay"}, args...), " "), func(b *testing.B) {
			for b.Loop() {
				status := run(append([]string{"replay", "-", "--lower", "10", "--upper", "180", "--capacity", "200L"}, args...), streams{bytes.NewReader(text.Bytes()), io.Discard, io.Discard})
				if status != 0 {
					b.Fatal(status)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
		})
	}
}

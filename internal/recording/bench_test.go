package recording_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"

	"gaugewright/internal/recording"
)

// long is a history of n rows, one every 10 s.
func long(n int, unix bool) []byte {
	var b bytes.Buffer
	b.WriteString("time,ohm\n")
	for i := range n {
		second := 1772352000 + 10*i
		if unix {
			fmt.Fprintf(&b, "%d.0,%.2f\n", second, 100+float64(i%977)/20)
			continue
		}
		at := recording.Row{Time: int64(second) * 1e9}
		fmt.Fprintf(&b, "%s,%.2f\n", at.Stamp.Append(nil, at.Time), 100+float64(i%977)/20)
	}
	return b.Bytes()
}

// BenchmarkHistory gives rows a second, placed by their times.
func BenchmarkHistory(b *testing.B) {
	for _, c := range []struct {
		name string
		unix bool
	}{{"rfc3339", false}, {"unix", true}} {
		b.Run(c.name, func(b *testing.B) {
			const n = 500_000
			text := long(n, c.unix)
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				h, err := recording.NewHistory(bytes.NewReader(text), "", recording.Options{})
				if err != nil {
					b.Fatal(err)
				}
				rows := 0
				for {
					_, err := h.Next()
					if errors.Is(err, io.EOF) {
						break
					}
					if err != nil {
						b.Fatal(err)
					}
					rows++
				}
				if rows != n {
					b.Fatalf("%d rows", rows)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

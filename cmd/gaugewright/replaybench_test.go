package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
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
	for _, args := range [][]string{{"--json"}, {"--json", "--every", "60s"}, {"--json", "--events", "--summary"}, {}} {
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

// BenchmarkReplayYear gives a year at a reading in ten seconds, with evenings of use,
// drives and refills, through the whole verb: what came in and went out, and how long
// it lasts.
func BenchmarkReplayYear(b *testing.B) {
	const n = 365 * 24 * 360
	text := yearOfReadings(n)
	b.ResetTimer()
	for b.Loop() {
		status := run([]string{"replay", "-", "--lower", "10", "--upper", "180", "--capacity", "200L", "--json", "--events", "--summary"}, streams{bytes.NewReader(text), io.Discard, io.Discard})
		if status != 0 {
			b.Fatal(status)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

// yearOfReadings makes a history at a reading in ten seconds, invented.
func yearOfReadings(n int) []byte {
	random := rand.New(rand.NewPCG(11, 0))
	text := append(make([]byte, 0, 28*n), "time,ohm\n"...)
	at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	level := 0.9
	for i := range n {
		hour, day := i/360%24, i/8640
		noise := 0.0005
		switch {
		case hour >= 18 && hour < 21:
			level -= 0.01 / 360 // an evening's use, a hundredth an hour
		case hour == 9 && day%3 == 0:
			noise = 0.03 // on the road
		case hour == 10 && level < 0.2:
			level = min(0.95, level+0.7/360)
		}
		text = at.AppendFormat(text, time.RFC3339)
		text = append(text, ',')
		text = strconv.AppendFloat(text, 10+170*(level+noise*random.NormFloat64()), 'f', 2, 64)
		text = append(text, '\n')
		at = at.Add(10 * time.Second)
	}
	return text
}

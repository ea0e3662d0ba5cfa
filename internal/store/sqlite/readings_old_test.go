package sqlite

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

var someTime = rapid.Custom(func(t *rapid.T) time.Time {
	return time.Unix(rapid.OneOf(rapid.Int64Range(1.7e9, 1.8e9), rapid.Int64Range(-62135596800, 253402300799)).Draw(t, "s"),
		rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(0, 999_999_999)).Draw(t, "ns")).UTC()
})

var someReading = rapid.Custom(func(t *rapid.T) watch.Reading {
	r := watch.Reading{
		Tank: rapid.SampledFrom([]string{"fresh", "grey", "", "ärmel"}).Draw(t, "tank"), Source: rapid.StringN(0, 3, -1).Draw(t, "source"),
		Time: someTime.Draw(t, "time"), Clock: watch.Clock(rapid.IntRange(0, 1).Draw(t, "clock")),
		Signal: watch.Signal(rapid.IntRange(0, 3).Draw(t, "signal")), Said: watch.Said(rapid.IntRange(0, 2).Draw(t, "said")),
		Value: math.Float64frombits(rapid.Uint64().Draw(t, "value")),
	}
	switch rapid.IntRange(0, 2).Draw(t, "arrival") {
	case 1:
		r.Arrived = r.Time
	case 2:
		r.Arrived = someTime.Draw(t, "arrived")
	}
	if rapid.Bool().Draw(t, "tilted") {
		r.Tilt = &watch.Tilt{Pitch: quantity.Radian(rapid.Float64().Draw(t, "pitch")), Roll: quantity.Radian(rapid.Float64().Draw(t, "roll"))}
	}
	return r
})

// differs says where two lists differ, "" where they don't.
func differs(got, want []watch.Reading) string {
	if len(got) != len(want) {
		return fmt.Sprintf("%d readings; want %d", len(got), len(want))
	}
	for i, a := range got {
		b := want[i]
		same := a.Time.Equal(b.Time) && a.Arrived.Equal(b.Arrived) && math.Float64bits(a.Value) == math.Float64bits(b.Value) &&
			(a.Tilt == nil) == (b.Tilt == nil) && (a.Tilt == nil || *a.Tilt == *b.Tilt)
		a.Time, a.Arrived, a.Tilt, a.Value, b.Value = b.Time, b.Arrived, b.Tilt, 0, 0
		if !same || a != b {
			return fmt.Sprintf("reading %d:\ngot  %+v\nwant %+v", i, got[i], want[i])
		}
	}
	return ""
}

// TestBody packs readings of every kind and takes them apart again.
func TestBody(t *testing.T) {
	t.Parallel()
	var p packer
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(someReading, 1, 30).Draw(t, "readings")
		got, err := unpackReadings(p.pack(want))
		if err != nil {
			t.Fatal(err)
		}
		if d := differs(got, want); d != "" {
			t.Fatal(d)
		}
	})
}

// FuzzUnpackReadings: no body makes it panic or take much memory, and what is
// taken apart and packed again says the same.
func FuzzUnpackReadings(f *testing.F) {
	var p packer
	f.Add(p.pack([]watch.Reading{{Tank: "fresh", Source: "mqtt", Time: time.Unix(1.7e9, 5), Arrived: time.Unix(1.7e9, 6), Value: 7, Tilt: &watch.Tilt{Pitch: 1}}}))
	f.Add([]byte{1, 255, 255, 255, 255, 15, 0, 0, 0, 0})
	f.Fuzz(func(t *testing.T, body []byte) {
		body = sealed(body) // with the right checksum, or it gets no further
		list, err := unpackReadings(body)
		if err != nil || len(list) == 0 {
			return
		}
		again, err := unpackReadings(p.pack(list))
		if err != nil || len(again) != len(list) {
			t.Fatalf("%d readings, %v; want %d", len(again), err, len(list))
		}
		for i := range list {
			if !again[i].Time.Equal(list[i].Time) || again[i].Tank != list[i].Tank || again[i].Said != list[i].Said {
				t.Fatalf("got %+v, want %+v", again[i], list[i])
			}
		}
	})
}

func BenchmarkPack(b *testing.B) {
	list := make([]watch.Reading, 4000)
	for i := range list {
		list[i] = watch.Reading{Tank: []string{"fresh", "grey"}[i%2], Source: "mqtt", Time: time.Unix(1.7e9+int64(i), 123_000_000), Arrived: time.Unix(1.7e9+int64(i), 125_123_456), Value: float64(i)}
	}
	var p packer
	n := 0
	for b.Loop() {
		n = len(p.pack(list))
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(list)), "ns/reading")
	b.ReportMetric(float64(n)/float64(len(list)), "B/reading")
}

// sealed ends a body with its checksum.
func sealed(body []byte) []byte {
	return binary.LittleEndian.AppendUint32(body[:len(body):len(body)], crc32.Checksum(body, castagnoli))
}

package recording_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// What a Writer writes, a History reads as it was.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		column := rapid.SampledFrom([]string{"ohm", "volt", "count", "level_pct"}).Draw(t, "column")
		source := rapid.Bool().Draw(t, "source")
		var b bytes.Buffer
		w, err := recording.NewWriter(&b, recording.Columns{Value: column, Source: source})
		if err != nil {
			t.Fatal(err)
		}
		var want []watch.Reading
		at := rapid.Int64Range(1420070400e9, 4102444800e9-1e15).Draw(t, "start")
		for range rapid.IntRange(1, 60).Draw(t, "n") {
			at += rapid.Int64Range(1, 100e9).Draw(t, "step")
			r := watch.Reading{Time: time.Unix(0, at).UTC(), Signal: recording.SignalOf(column), Value: rapid.Float64().Draw(t, "value")}
			if rapid.IntRange(0, 9).Draw(t, "none") == 0 {
				r.Said, r.Value = watch.Unavailable, math.NaN()
			}
			if source {
				r.Source = rapid.StringMatching(`[a-z]{0,5}[ ,;"#]?[a-z]{1,5}`).Draw(t, "source")
			}
			if err := w.Write(r); err != nil {
				t.Fatal(err)
			}
			want = append(want, r)
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		h, err := recording.NewHistory(&b, "", recording.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, r := range want {
			row, err := h.Next()
			if err != nil {
				t.Fatalf("reading %d: %v", i, err)
			}
			got := h.Reading(row, "")
			same := got.Value == r.Value || math.IsNaN(got.Value) && math.IsNaN(r.Value)
			if !got.Time.Equal(r.Time) || !same || got.Said != r.Said || got.Source != strings.TrimSpace(r.Source) || got.Signal != r.Signal {
				t.Fatalf("reading %d: %+v, was %+v", i, got, r)
			}
		}
		if _, err := h.Next(); !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
	})
}

// A stamp writes a time as it stood.
func TestStampRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := rapid.IntRange(-23*60-59, 23*60+59).Draw(t, "zone")
		at := time.Unix(rapid.Int64Range(1420070400+86400, 4102444800-86401).Draw(t, "second"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns"))
		layout := rapid.SampledFrom([]string{time.RFC3339, time.RFC3339Nano, "2006-01-02T15:04:05.000Z07:00", "2006-01-02 15:04:05.000000-07:00", "2006-01-02T15:04:05"}).Draw(t, "layout")
		where := time.FixedZone("", zone*60)
		if layout == "2006-01-02T15:04:05" {
			where = time.UTC
		}
		text := at.In(where).Format(layout)
		rows, _, err := all("time,ohm\n"+text+",1\n", recording.Options{})
		if err != nil || len(rows) != 1 {
			t.Fatalf("%s: %v", text, err)
		}
		if got := string(rows[0].Stamp.Append(nil, rows[0].Time)); got != text {
			t.Fatalf("%s came out as %s", text, got)
		}
	})
}

// Nothing a file holds makes the reader panic, lose count or go back in time.
func FuzzHistory(f *testing.F) {
	f.Add([]byte("time,ohm\n2026-03-01T08:00:00Z,12.5\n2026-03-01T08:00:10Z,\n"))
	f.Add([]byte("\xff\xfet\x00i\x00m\x00e\x00,\x00o\x00h\x00m\x00\n\x001\x00"))
	f.Add([]byte("time;ohm;pitch_deg;source\n1772352000,5;12,5;1;\"a\"\"b\"\n1772352000;1;;\n"))
	f.Add([]byte("time,ohm\r1772352000,1\r\"\r\r"))
	f.Add([]byte("time,ohm\n9e99,1\n-5,1\n1e17,2\n99999999999999999999,1\n2026-03-01T08:00:00.99999999999Z,1e400\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		h, err := recording.NewHistory(bytes.NewReader(text), "fuzzed", recording.Options{Unusable: 1})
		if err != nil {
			return
		}
		var before, n int64
		before = math.MinInt64
		for {
			row, err := h.Next()
			if err != nil {
				break
			}
			n++
			if row.Time < before {
				t.Fatal("back in time")
			}
			before = row.Time
			if row.Said == watch.Measured && math.IsNaN(row.Value) {
				t.Fatal("a measured value that is no number")
			}
			h.Reading(row, "")
			row.Stamp.Append(nil, row.Time)
		}
		if lines := int64(bytes.Count(text, []byte{'\n'}) + bytes.Count(text, []byte{'\r'}) + bytes.Count(text, []byte{0}) + 1); n > lines {
			t.Fatalf("%d rows in %d lines", n, lines)
		}
	})
}

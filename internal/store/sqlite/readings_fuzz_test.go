package sqlite

import (
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
)

// TestHotRow packs readings of every kind into a row, and into a chunk, and takes them
// apart again.
func TestHotRow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(someReading, 1, 40).Draw(t, "readings")
		records := make([]record, len(list))
		for i := range list {
			records[i] = rounded(&list[i])
		}
		cut := rapid.IntRange(1, len(records)).Draw(t, "cut")
		runs := []run{{7, records[:cut]}}
		if cut < len(records) {
			runs = append(runs, run{1 << 40, records[cut:]})
		}
		var got []record
		var lines []int64
		if err := eachRun(appendHot(nil, runs), func(r run) { got, lines = append(got, r.records...), append(lines, r.line) }); err != nil {
			t.Fatal(err)
		}
		var c columns
		chunk, err := c.records(nil, c.appendChunk(nil, records))
		if err != nil || len(chunk) != len(records) || len(got) != len(records) || len(lines) != len(runs) || lines[0] != 7 {
			t.Fatalf("%d and %d records of %v, %v; want %d", len(got), len(chunk), lines, err, len(records))
		}
		for i := range records {
			if got[i] != records[i] || chunk[i] != records[i] {
				t.Fatalf("%+v, %+v; want %+v", got[i], chunk[i], records[i])
			}
		}
	})
}

// TestHotRowSize holds the row of a commit to its size: ten seconds of four tanks, each
// some milliseconds late or early.
func TestHotRowSize(t *testing.T) {
	t.Parallel()
	var runs []run
	for line := range 4 {
		r := run{line: int64(line + 1)}
		for i := range 10 {
			r.records = append(r.records, record{time: 1_793_714_460_000 + int64(i*1000+(i*7+line*3)%23), value: 1184 + int64(i*5%7), what: arrived})
		}
		runs = append(runs, r)
	}
	if n := len(appendHot(nil, runs)); n > 150 {
		t.Errorf("%d bytes", n)
	}
}

// FuzzHotRow and FuzzChunk: no body makes them panic, and what is taken apart says the
// same when it is packed again.
func FuzzHotRow(f *testing.F) {
	f.Add(appendHot(nil, []run{{1, []record{{time: 1, value: 2, lag: 3, pitch: 4, roll: 5, what: arrived | tilted}, {time: 2, what: exact}}}, {2, []record{{time: -5}}}}))
	f.Fuzz(func(t *testing.T, body []byte) {
		var runs []run
		if err := eachRun(sealed(body), func(r run) { runs = append(runs, run{r.line, append([]record(nil), r.records...)}) }); err != nil || len(runs) == 0 {
			return
		}
		i := 0
		if err := eachRun(appendHot(nil, runs), func(r run) {
			for j := range r.records {
				if r.records[j] != runs[i].records[j] {
					t.Fatalf("%+v; want %+v", r.records[j], runs[i].records[j])
				}
			}
			i++
		}); err != nil || i != len(runs) {
			t.Fatalf("%d runs, %v; want %d", i, err, len(runs))
		}
	})
}

func FuzzChunk(f *testing.F) {
	var c columns
	f.Add(c.appendChunk(nil, []record{{time: 1, value: 2, lag: 3, pitch: 4, roll: 5, what: arrived | tilted}, {time: 2, what: exact, value: 9}, {what: 1}}))
	f.Fuzz(func(t *testing.T, body []byte) {
		body = sealed(body)
		_ = c.addTo(make([]series.Roll, 3), history.Grid{From: 0, Width: 60, N: 3}, body)
		list, err := c.records(nil, body)
		if err != nil {
			return
		}
		again, err := c.records(nil, c.appendChunk(nil, list))
		if err != nil || len(again) != len(list) {
			t.Fatalf("%d records, %v; want %d", len(again), err, len(list))
		}
		for i := range list {
			if again[i] != list[i] {
				t.Fatalf("%+v; want %+v", again[i], list[i])
			}
		}
	})
}

// FuzzRolls: the same of roll-ups, and of levels.
func FuzzRolls(f *testing.F) {
	var r roller
	f.Add(r.appendRolls(nil, []entry{{at: 1, Roll: series.Roll{N: 1, Min: 2, Max: 3, Sum: 4}}, {at: 1439, Roll: series.Roll{N: 5}}}))
	f.Fuzz(func(t *testing.T, body []byte) {
		body = sealed(body)
		_, _ = rolledLevels(0, 0, body)
		list, err := r.rolled(nil, 0, body)
		if err != nil || len(list) == 0 {
			return
		}
		again, err := r.rolled(nil, 0, r.appendRolls(nil, list))
		if err != nil || len(again) != len(list) {
			t.Fatalf("%d entries, %v; want %d", len(again), err, len(list))
		}
		for i := range list {
			if again[i] != list[i] {
				t.Fatalf("%+v; want %+v", again[i], list[i])
			}
		}
	})
}

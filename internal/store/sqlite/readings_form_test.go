package sqlite

import (
	"encoding/binary"
	"hash/crc32"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
)

// TestReadingsNewerForm opens files in which a later version of the program has kept
// something in a form of its own: that is said, and nothing is put aside or made again.
func TestReadingsNewerForm(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		from   string // which rows
		opens  bool   // it can be opened
		fails  func(t *testing.T, s *Readings) error
		expect string
	}{
		"hot":    {from: "hot", expect: "hot row 2: its form is 7"},
		"chunk":  {from: "chunk WHERE number = (SELECT max(number) FROM chunk)", expect: "the newest chunk: its form is 7"},
		"days":   {from: "roll WHERE step = 2", expect: "the newest roll-ups: its form is 7"},
		"levels": {from: "level WHERE step = 2", expect: "the newest levels: its form is 7"},
		"minutes": {from: "roll WHERE step = 0", opens: true, expect: "roll-ups 1/0/20760: its form is 7", fails: func(t *testing.T, s *Readings) error {
			s.keeping.Lock()
			defer s.keeping.Unlock()
			return s.seal(t.Context(), everything)
		}},
		"minutes, asked for": {from: "roll WHERE step = 0", opens: true, expect: "roll-ups 1/0/20760: its form is 7", fails: func(t *testing.T, s *Readings) error {
			_, err := s.Readings(t.Context(), lineOf(s), someStretch(60))
			return err
		}},
		"a chunk, read": {from: "chunk WHERE number = 1", opens: true, expect: "chunk 1: its form is 7", fails: func(t *testing.T, s *Readings) error {
			_, err := s.Recent(t.Context(), time.Time{})
			return err
		}},
		"a chunk, asked for": {from: "chunk WHERE number = 1", opens: true, expect: "chunk 1: its form is 7", fails: func(t *testing.T, s *Readings) error {
			_, err := s.Readings(t.Context(), lineOf(s), someStretch(10000))
			return err
		}},
		"a chunk, looked into": {from: "chunk WHERE number = 1", opens: true, expect: "chunk 1: its form is 7", fails: func(_ *testing.T, s *Readings) error {
			return s.Keep(someReadings(2))
		}},
		"levels by the minute": {from: "level WHERE step = 0", opens: true, expect: "levels 1/0/20760: its form is 7", fails: func(t *testing.T, s *Readings) error {
			return s.KeepLevels(t.Context(), "fresh", someLevels(), noonTime)
		}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "watch.db")
			s, err := OpenReadings(t.Context(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			list := someReadings(300)
			if err := s.Keep(list[:200]); err != nil {
				t.Fatal(err)
			}
			if err := s.KeepLevels(t.Context(), "fresh", someLevels(), noonTime); err != nil {
				t.Fatal(err)
			}
			s.keeping.Lock()
			err = s.seal(t.Context(), everything)
			s.keeping.Unlock()
			if err != nil {
				t.Fatal(err)
			}
			if err := s.Keep(list[200:]); err != nil {
				t.Fatal(err)
			}
			newer(t, s, c.from)
			before := rowsIn(t, s)
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			s, err = OpenReadings(t.Context(), path, Options{})
			if c.opens {
				if err != nil {
					t.Fatal(err)
				}
				defer s.Close()
				err = c.fails(t, s)
			}
			if err == nil || !strings.Contains(err.Error(), "newer version of this program ("+c.expect) || strings.Contains(err.Error(), "damaged") {
				t.Errorf("%v", err)
			}
			if len(damagedFiles(t, path)) > 0 {
				t.Error("it was put aside")
			}
			if c.opens {
				if after := rowsIn(t, s); after != before || len(s.Repairs()) > 0 {
					t.Errorf("rows %v, and %v before; %q", after, before, s.Repairs())
				}
			}
		})
	}
}

func lineOf(s *Readings) history.Line {
	return history.Line{Tank: s.tanks["fresh"][0].key.tank, Source: s.tanks["fresh"][0].key.source}
}

// someStretch is the hour of someReadings.
func someStretch(buckets int) history.Stretch {
	return history.Stretch{From: noonTime, To: noonTime.Add(time.Hour), Buckets: buckets}
}

func someLevels() []history.LevelRoll {
	return []history.LevelRoll{{From: noonTime.Add(5 * time.Minute), Share: series.Roll{N: 1, Min: 50, Max: 50, Sum: 50}, Low: 40, High: 60}}
}

// newer gives bodies a form of a later version, with the checksum that goes with it.
func newer(t *testing.T, s *Readings, from string) {
	t.Helper()
	if _, err := s.writer.Exec("DROP TRIGGER chunk_not_updated"); err != nil {
		t.Fatal(err)
	}
	table, _, _ := strings.Cut(from, " ")
	var body []byte
	if err := s.writer.QueryRow("SELECT body FROM " + from).Scan(&body); err != nil {
		t.Fatal(err)
	}
	end := len(body) - crcLength
	had := append([]byte(nil), body...)
	body[0] = newestForm + 1
	binary.LittleEndian.PutUint32(body[end:], crc32.Checksum(body[:end], castagnoli))
	if r, err := s.writer.Exec("UPDATE "+table+" SET body = ? WHERE body = ?", body, had); err != nil {
		t.Fatal(err)
	} else if n, err := r.RowsAffected(); err != nil || n != 1 {
		t.Fatalf("%d rows, %v", n, err)
	}
}

// rowsIn counts the rows of the tables that a repair would change.
func rowsIn(t *testing.T, s *Readings) (n [5]int) {
	t.Helper()
	if err := s.writer.QueryRow("SELECT (SELECT count(*) FROM hot), (SELECT count(*) FROM chunk), (SELECT count(*) FROM roll), (SELECT count(*) FROM level), (SELECT count(*) FROM aside)").
		Scan(&n[0], &n[1], &n[2], &n[3], &n[4]); err != nil {
		t.Fatal(err)
	}
	return n
}

package lines

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

// piece is what comes over a connection after a time. "cut" ends it.
type piece struct {
	after time.Duration
	text  string
}

const cutOff = "cut"

// sent runs a feed in a time of its own against connections over which pieces
// come.
func sent(t *testing.T, c Config, pieces []piece, during time.Duration, test func(*testing.T, *feedtest.Tape)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		made, err := New("bench", c)
		if err != nil {
			t.Fatal(err)
		}
		f, done := made.(*Feed), make(chan struct{})
		f.dial = func(ctx context.Context) (io.ReadWriteCloser, error) {
			if len(pieces) == 0 {
				return nil, errors.New("nobody there")
			}
			near, far := net.Pipe()
			go func() {
				for len(pieces) > 0 {
					p := pieces[0]
					pieces = pieces[1:]
					time.Sleep(p.after)
					if p.text == cutOff {
						far.Close()
						return
					}
					if _, err := io.WriteString(far, p.text); err != nil {
						return
					}
				}
				<-done
				far.Close()
			}()
			return near, nil
		}
		s := &feedtest.Tape{}
		stop := s.Run(t, f)
		defer func() { // also where the test ends early: time stands still afterwards
			stop()
			close(done)
			time.Sleep(time.Minute) // for pieces that were waiting
		}()
		time.Sleep(during)
		s.Lock()
		defer s.Unlock()
		test(t, s)
	})
}

const ms = time.Millisecond

var fresh = Config{Address: "/dev/ttyUSB0", Tank: "fresh"}

func TestStream(t *testing.T) {
	noise := make([]byte, 3000)
	for n := range noise {
		noise[n] = byte(n*n>>3 ^ n*31)
	}
	parts := len(strings.FieldsFunc(string(noise), func(r rune) bool { return r == '\n' || r == '\r' }))
	for name, test := range map[string]struct {
		pieces  []piece
		want    []float64
		refused map[string]int
	}{
		"the first may be half":    {[]piece{{10 * ms, "8.4\n"}, {300 * ms, "119\n"}}, []float64{119}, nil},
		"in two pieces":            {[]piece{{100 * ms, "8"}, {100 * ms, ".4\n119\n"}}, []float64{119}, nil},
		"whole after a gap":        {[]piece{{300 * ms, "118.4\r\n"}, {300 * ms, "119\r\n"}}, []float64{118.4, 119}, nil},
		"an end in two pieces":     {[]piece{{300 * ms, "118.4\r"}, {300 * ms, "\n119\r"}}, []float64{118.4, 119}, nil},
		"stood still":              {[]piece{{300 * ms, "118"}, {1500 * ms, ".4\n"}, {300 * ms, "119\n"}}, []float64{119}, map[string]int{halfLine: 1}},
		"cut off, and the rest":    {[]piece{{300 * ms, "118.4\n11"}, {10 * ms, cutOff}, {300 * ms, "8.4\n119\n"}}, []float64{118.4, 119}, map[string]int{halfLine: 1}},
		"without an end":           {[]piece{{300 * ms, strings.Repeat("118.4 ", 100000)}, {10 * ms, "\n119\n"}}, []float64{119}, map[string]int{tooLong: 1}},
		"noise":                    {[]piece{{300 * ms, string(noise) + "\n119\n"}}, []float64{119}, map[string]int{notText: parts}},
		"noise between two values": {[]piece{{300 * ms, "118\n\x00\x07\xff\n119\n"}}, []float64{118, 119}, map[string]int{notText: 1}},
		"open, and well again":     {[]piece{{300 * ms, "118\nOL\n119\n"}}, []float64{118, openCircuit, 119}, nil},
		"words":                    {[]piece{{300 * ms, "hello\n119 V\n# 120\n\n119\n"}}, []float64{119}, map[string]int{notNumber: 1, otherUnit: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			sent(t, fresh, test.pieces, 10*time.Second, func(t *testing.T, s *feedtest.Tape) {
				var got []float64
				for n, r := range s.Readings {
					got = append(got, r.Value)
					if r.Tank != "fresh" || r.Source != "lines/bench" || r.Clock != watch.ArrivalClock || !r.Time.Equal(r.Arrived) {
						t.Errorf("%+v", r)
					}
					if n > 0 && !r.Time.After(s.Readings[n-1].Time) {
						t.Errorf("%v after %v", r.Time, s.Readings[n-1].Time)
					}
				}
				if fmt.Sprint(got) != fmt.Sprint(test.want) {
					t.Errorf("%v, want %v", got, test.want)
				}
				if test.refused == nil {
					test.refused = map[string]int{}
				}
				if fmt.Sprint(s.Counts) != fmt.Sprint(test.refused) {
					t.Errorf("refused %v, want %v", s.Counts, test.refused)
				}
			})
		})
	}
}

// A line that comes alone has the time at which it came; lines that come
// together have times from the last one on, and the columns of one line have the
// same.
func TestTimes(t *testing.T) {
	c := Config{Address: "tcp://bench:1", Columns: []string{"fresh", "waste"}}
	sent(t, c, []piece{{time.Second, "1,2\n"}, {time.Second, "3,4\n5,6\n"}, {10 * time.Second, "7,8\n9,10\n"}}, 15*time.Second, func(t *testing.T, s *feedtest.Tape) {
		if len(s.Readings) != 10 {
			t.Fatalf("%d readings", len(s.Readings))
		}
		begun := time.Now().Add(-15 * time.Second)
		for n, want := range []time.Duration{1000 * ms, 1500 * ms, 2000 * ms, 11500 * ms, 12000 * ms} {
			for _, r := range s.Readings[2*n : 2*n+2] {
				if !r.Time.Equal(begun.Add(want)) {
					t.Errorf("%v at %v, want %v", r.Value, r.Time.Sub(begun), want)
				}
			}
		}
	})
}

// A disk that is full is the sink's business: the lines are read on.
func TestFullDisk(t *testing.T) {
	var pieces []piece
	for n := range 100 {
		pieces = append(pieces, piece{time.Second, fmt.Sprintf("%d\n", n)})
	}
	sent(t, fresh, pieces, 10*time.Second+500*ms, func(t *testing.T, s *feedtest.Tape) {
		s.Full = feedtest.Always
		s.Unlock()
		time.Sleep(time.Minute)
		s.Lock()
		s.Full = 0
		s.Unlock()
		time.Sleep(10 * time.Second)
		s.Lock()
		if len(s.Readings) != 20 || s.Readings[19].Value != 79 || s.Lacked["lines/bench"] != 60 || len(s.Counts) != 0 {
			t.Errorf("%d readings, %v lacked, refused %v", len(s.Readings), s.Lacked, s.Counts)
		}
	})
}

package modbus

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

// bench runs a feed in a time of its own, against what answer says. A request
// that it answers with nil gets no answer.
func bench(t *testing.T, c Config, answer func(request []byte) []byte, test func(*testing.T, *feedtest.Tape)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		f, err := New("bay", c)
		if err != nil {
			t.Fatal(err)
		}
		f.(*Feed).dial = func(ctx context.Context) (wire, error) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			near, far := net.Pipe()
			go serve(far, answer)
			return near, nil
		}
		s := &feedtest.Tape{}
		stop := s.Run(t, f)
		defer func() { // also where the test ends early: time stands still afterwards
			stop()
			time.Sleep(time.Minute) // for answers under way
		}()
		test(t, s)
	})
}

// serve answers requests of either kind of frame, of 12 bytes or 8. Without
// answer it is a device that ends its connection after ten idle seconds.
func serve(far net.Conn, answer func([]byte) []byte) {
	defer far.Close()
	if answer == nil {
		answer = func(q []byte) []byte {
			time.AfterFunc(10*time.Second, func() { far.Close() })
			return tcpReply(q, 118)
		}
	}
	out := make(chan []byte, 64) // for a pipe holds nothing
	defer close(out)
	go func() {
		for a := range out {
			_, _ = far.Write(a)
		}
	}()
	size := 12
	b := make([]byte, 256)
	for {
		n, err := io.ReadAtLeast(far, b, 8)
		if err != nil {
			return
		}
		if n == 8 {
			size = 8
		}
		if a := answer(b[:size]); a != nil {
			out <- a
		}
	}
}

// tcpReply answers a request over TCP with values.
func tcpReply(request []byte, values ...uint16) []byte {
	b := append([]byte{}, request[:4]...)
	b = append(b, 0, byte(3+2*len(values)), request[6], request[7], byte(2*len(values)))
	for _, v := range values {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return b
}

func rtuReply(request []byte, values ...uint16) []byte {
	b := append([]byte{}, request[0], request[1], byte(2*len(values)))
	for _, v := range values {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return binary.LittleEndian.AppendUint16(b, crc(b))
}

func one(url string) Config {
	return Config{URL: url, Counting: "from 0", Every: feed.Duration(5 * time.Second), Read: []Read{{Tank: "fresh", Function: "holding"}}}
}

// The beat is kept without drift for an hour, however long the answers take;
// rounds that take longer than the beat leave out some and don't pile up.
func TestBeat(t *testing.T) {
	for _, test := range []struct{ lag, beat time.Duration }{
		{300 * time.Millisecond, 5 * time.Second},
		{4900 * time.Millisecond, 5 * time.Second},
		{5100 * time.Millisecond, 10 * time.Second},
		{12 * time.Second, 15 * time.Second},
	} {
		c := one("tcp://bench")
		c.Timeout = feed.Duration(20 * time.Second)
		bench(t, c, func(q []byte) []byte {
			time.Sleep(test.lag)
			return tcpReply(q, 118)
		}, func(t *testing.T, s *feedtest.Tape) {
			begun := time.Now()
			time.Sleep(time.Hour)
			s.Lock()
			defer s.Unlock()
			if n, want := len(s.Readings), int((time.Hour-test.lag)/test.beat)+1; n != want {
				t.Errorf("answers after %v: %d readings, want %d", test.lag, n, want)
			}
			for n, r := range s.Readings {
				if want := begun.Add(time.Duration(n)*test.beat + test.lag); !r.Time.Equal(want) {
					t.Fatalf("answers after %v: reading %d at %v, want %v", test.lag, n, r.Time.Sub(begun), want.Sub(begun))
				}
			}
		})
	}
}

// A device that is away gives nothing, and is tried again after growing times.
func TestAway(t *testing.T) {
	var back atomic.Bool
	bench(t, one("tcp://bench"), func(q []byte) []byte {
		if !back.Load() {
			return nil
		}
		return tcpReply(q, 118)
	}, func(t *testing.T, s *feedtest.Tape) {
		time.Sleep(10 * time.Minute)
		s.Lock()
		if n := len(s.Downs); n < 10 || n > 25 || len(s.Readings) > 0 || s.Ups > 0 || s.Counts["no answer"] != n || s.Lost.Error() != "unit 1: no answer" {
			t.Errorf("down %v, %v, up %d, refused %v", s.Downs, s.Lost, s.Ups, s.Counts)
		}
		back.Store(true)
		s.Unlock()
		time.Sleep(2 * time.Minute)
		s.Lock()
		defer s.Unlock()
		if s.Ups != 1 || len(s.Readings) < 10 {
			t.Errorf("up %d, %d readings", s.Ups, len(s.Readings))
		}
	})
}

// A long answer may take its time on the line besides the device's own.
func TestSlowLine(t *testing.T) {
	c := one("rtu+tcp://bench:1")
	c.Timeout = feed.Duration(100 * time.Millisecond)
	c.Read = nil
	for n := range 100 {
		c.Read = append(c.Read, Read{Tank: fmt.Sprint("t", n), Register: n, Function: "holding"})
	}
	bench(t, c, func(q []byte) []byte {
		time.Sleep(300 * time.Millisecond) // 213 bytes take 244 ms at 9600 baud, 11 bits each
		return rtuReply(q, make([]uint16, 100)...)
	}, func(t *testing.T, s *feedtest.Tape) {
		time.Sleep(time.Second)
		s.Lock()
		defer s.Unlock()
		if len(s.Readings) != 100 || len(s.Counts) != 0 {
			t.Errorf("%d readings, refused %v", len(s.Readings), s.Counts)
		}
	})
}

// A device that ends a connection after ten idle seconds loses nothing.
func TestIdleEnd(t *testing.T) {
	c := one("tcp://bench")
	c.Every = feed.Duration(30 * time.Second)
	bench(t, c, nil, func(t *testing.T, s *feedtest.Tape) {
		time.Sleep(10*time.Minute - time.Second)
		s.Lock()
		defer s.Unlock()
		if len(s.Readings) != 20 || s.Ups != 1 || len(s.Downs) != 0 || len(s.Counts) != 0 {
			t.Errorf("%d readings, up %d, down %v, %v, refused %v", len(s.Readings), s.Ups, s.Downs, s.Lost, s.Counts)
		}
	})
}

// Of two units on a line the one that is away costs one timeout a round, and
// one lost frame costs nothing.
func TestUnitAway(t *testing.T) {
	c := one("rtu+tcp://bench:1")
	c.Read = append(c.Read, Read{Tank: "grey", Unit: 2, Function: "input", Register: 7}, Read{Tank: "waste", Unit: 2, Function: "holding"})
	var count atomic.Int64
	bench(t, c, func(q []byte) []byte {
		switch n := count.Add(1); {
		case q[0] == 2 || n == 5:
			return nil
		}
		return rtuReply(q, 118)
	}, func(t *testing.T, s *feedtest.Tape) {
		time.Sleep(59 * time.Second)
		s.Lock()
		defer s.Unlock()
		if len(s.Readings) != 12 || s.Ups != 1 || len(s.Downs) != 0 || s.Counts["no answer"] != 13 {
			t.Errorf("%d readings, up %d, down %v, refused %v", len(s.Readings), s.Ups, s.Downs, s.Counts)
		}
	})
}

// What a server that isn't one sends is counted, nothing hangs, and no reading
// comes of it.
func TestGarbage(t *testing.T) {
	noise := make([]byte, 4096)
	for n := range noise {
		noise[n] = byte(n*n>>3 ^ n*31)
	}
	for name, test := range map[string]struct {
		url    string
		answer func([]byte) []byte
		why    string
	}{
		"noise":                {"tcp://bench", func(q []byte) []byte { return noise }, "not Modbus TCP"},
		"noise on a line":      {"rtu+tcp://bench:1", func(q []byte) []byte { return noise }, "bytes without end"},
		"text":                 {"tcp://bench", func(q []byte) []byte { return []byte("HTTP/1.1 400 Bad Request\r\n\r\n") }, "not Modbus TCP"},
		"half a frame":         {"tcp://bench", func(q []byte) []byte { return tcpReply(q, 118)[:9] }, "no answer"},
		"half a frame, line":   {"rtu+tcp://bench:1", func(q []byte) []byte { return rtuReply(q, 118)[:6] }, "bytes that are no answer"},
		"a flipped bit":        {"rtu+tcp://bench:1", func(q []byte) []byte { a := rtuReply(q, 118); a[3] ^= 1; return a }, "bytes that are no answer"},
		"another transaction":  {"tcp://bench", func(q []byte) []byte { a := tcpReply(q, 118); a[0]++; return a }, "an answer to another question"},
		"other answers only":   {"tcp://bench", func(q []byte) []byte { a := tcpReply(q, 118); a[0]++; return bytes.Repeat(a, 100) }, "answers to other questions only"},
		"another unit":         {"tcp://bench", func(q []byte) []byte { a := tcpReply(q, 118); a[6]++; return a }, "an answer of another unit"},
		"another function":     {"tcp://bench", func(q []byte) []byte { a := tcpReply(q, 118); a[7]++; return a }, "an answer of another function"},
		"too many registers":   {"tcp://bench", func(q []byte) []byte { return tcpReply(q, 118, 119) }, "an answer of another length"},
		"an exception, code 0": {"tcp://bench", func(q []byte) []byte { return append(append([]byte{}, q[:4]...), 0, 3, 1, 0x83, 0) }, "an exception that isn't in the specification"},
	} {
		t.Run(name, func(t *testing.T) {
			bench(t, one(test.url), test.answer, func(t *testing.T, s *feedtest.Tape) {
				time.Sleep(5 * time.Minute)
				s.Lock()
				defer s.Unlock()
				if s.Counts[test.why] < 4 {
					t.Errorf("refused %v, want %q; lost %v", s.Counts, test.why, s.Lost)
				}
				for _, r := range s.Readings {
					if r.Said == watch.Measured {
						t.Errorf("%+v", r)
					}
				}
			})
		})
	}
}

// An answer that comes too late isn't taken for the answer to the next question.
func TestLate(t *testing.T) {
	for _, url := range []string{"tcp://bench", "rtu+tcp://bench:1"} {
		reply := tcpReply
		register := 8
		if url != "tcp://bench" {
			reply, register = rtuReply, 2
		}
		c := one(url)
		c.Read = []Read{{Tank: "a", Register: 100, Function: "holding"}, {Tank: "b", Register: 200, Function: "holding"}}
		var count atomic.Int64
		bench(t, c, func(q []byte) []byte {
			if count.Add(1)%4 == 0 {
				time.Sleep(1500 * time.Millisecond)
			}
			return reply(q, binary.BigEndian.Uint16(q[register:]))
		}, func(t *testing.T, s *feedtest.Tape) {
			time.Sleep(5 * time.Minute)
			s.Lock()
			defer s.Unlock()
			for _, r := range s.Readings {
				if want := map[string]float64{"a": 100, "b": 200}[r.Tank]; r.Value != want {
					t.Fatalf("%s: %s reads %v, want %v", url, r.Tank, r.Value, want)
				}
			}
			if len(s.Readings) < 60 || s.Counts["no answer"] < 10 {
				t.Errorf("%s: %d readings, refused %v", url, len(s.Readings), s.Counts)
			}
		})
	}
}

// A disk that is full is the sink's business: the polling goes on in step.
func TestFullDisk(t *testing.T) {
	bench(t, one("tcp://bench"), func(q []byte) []byte { return tcpReply(q, 118) }, func(t *testing.T, s *feedtest.Tape) {
		s.Do(func() { s.Full = feedtest.Always })
		time.Sleep(time.Minute)
		s.Do(func() { s.Full = 0 })
		time.Sleep(time.Minute)
		s.Lock()
		defer s.Unlock()
		if kept, lacked := len(s.Readings), s.Lacked["modbus/bay"]; kept < 11 || lacked < 11 || kept+lacked < 23 || len(s.Counts) != 0 {
			t.Errorf("%d readings kept, %d lacked, refused %v", kept, lacked, s.Counts)
		}
		for n := range s.Readings[1:] {
			if d := s.Readings[n+1].Time.Sub(s.Readings[n].Time); d != 5*time.Second {
				t.Errorf("readings %v apart", d)
			}
		}
	})
}

// A thousand registers take as few questions as can be.
func TestTogether(t *testing.T) {
	c := one("tcp://bench")
	c.Read = nil
	for n := range 1000 {
		c.Read = append(c.Read, Read{Tank: fmt.Sprint("t", n), Register: n, Function: "input"})
	}
	var asked atomic.Int64
	bench(t, c, func(q []byte) []byte {
		asked.Add(1)
		first, count := binary.BigEndian.Uint16(q[8:]), binary.BigEndian.Uint16(q[10:])
		values := make([]uint16, count)
		for n := range values {
			values[n] = first + uint16(n)
		}
		return tcpReply(q, values...)
	}, func(t *testing.T, s *feedtest.Tape) {
		time.Sleep(time.Second)
		s.Lock()
		defer s.Unlock()
		if asked.Load() != 8 || len(s.Readings) != 1000 {
			t.Fatalf("%d questions, %d readings", asked.Load(), len(s.Readings))
		}
		for n, r := range s.Readings {
			if r.Value != float64(n) || r.Tank != fmt.Sprint("t", n) {
				t.Fatalf("%+v", r)
			}
		}
	})
}

package xdr

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

// summedUp is a sentence with its checksum.
func summedUp(text string) string { return fmt.Sprintf("$%s*%02X", text, Checksum([]byte(text))) }

func (l *listener) hear(s *feedtest.Tape, at time.Time, lines ...string) {
	for _, line := range lines {
		s.Readings = l.line(s.Readings, []byte(line), false, false, at, s)
	}
}

func TestListener(t *testing.T) {
	l, s := receiving(t, boat).listener, newTape()
	l.hear(s, noon,
		"$IIXDR,E,75.0,P,FreshWater#0*4B",
		summedUp("YXXDR,E,12.5,P,FRESHWATER#0,G,118.4,,FUEL,C,19.5,C,Grey"), // any talker, two tanks, a temperature beside
		summedUp("IIXDR,V,0.020,M,Grey"),                                    // of 50 L
		summedUp("IIXDR,V,40,P,Grey"),
		summedUp("IIXDR,E,41,P,Grey,U,2.10,V,Spare"),
		summedUp("IIXDR,E,,P,FreshWater#0"),
		summedUp("IIXDR,G,-0.5,R,FUEL"),
		summedUp("IIMTW,19.5,C"), "!AIVDM,1,1,,A,x,0*00",
	)
	s.All(t, "fresh 75 %, fresh 12.5 %, diesel 118.4 ohm, grey 40 %, grey 40 %, grey 41 %, spare 2.1 volt, fresh none, diesel -0.5 ohm")
	for _, r := range s.Readings {
		if r.Clock != watch.ArrivalClock || !r.Time.Equal(noon) || !r.Arrived.Equal(noon) || r.Source != "xdr/boat" {
			t.Errorf("%+v", r)
		}
	}
	if len(s.Counts) != 0 {
		t.Error(s.Counts)
	}
}

func TestListenerRefuses(t *testing.T) {
	l, s := receiving(t, boat).listener, newTape()
	long := summedUp("IIXDR,E,51,P,FreshWater#0,C,19.5,C,a,C,19.5,C,b,C,19.5,C,c,C,19.5,C,d,C,19.5,C,e")
	l.hear(s, noon,
		"$IIXDR,E,75.1,P,FreshWater#0*4B", "$IIMTW,19.5,C*00",
		"$IIXDR,E,75.0,P,FreshWater#0",
		"garbage", "\x00\xff\xfe",
		summedUp("IIXDR,E,75.0,P"),
		summedUp("IIXDR,E,nan,P,FreshWater#0"), summedUp("IIXDR,E,0x10,P,FreshWater#0"), summedUp("IIXDR,V,1e308,M,Grey"),
		summedUp("IIXDR,V,0.1,M,Spare"), summedUp("IIXDR,G,0.1,,Spare"), summedUp("IIXDR,E,0.1,Q,Spare"),
		summedUp("IIXDR,E,50,P,Black#0"), summedUp("IIXDR,V,50,P,FreshWater#0"), summedUp("IIXDR,C,20,C,Black#0"),
		"75,P,FreshWater#0*00"+summedUp("IIXDR,E,50,P,FreshWater#0"),
		long,
	)
	l.line(nil, []byte("$IIXDR,E,75.0"), true, false, noon, s)
	l.line(nil, []byte("half a line"), false, true, noon, s) // the first one of a connection isn't counted
	s.All(t, "fresh 50 %, fresh 51 %")
	s.Counted(t, map[string]int{
		"wrong checksum":          2,
		"no checksum":             1,
		"line without a sentence": 2,
		"transducers that aren't groups of four fields": 1,
		"not a number": 3,
		"volume without a capacity in its table of read":            1,
		"generic value without a signal in its table of read":       1,
		"unit that doesn't go with its type":                        1,
		"transducer that no tank is configured for: E Black#0":      1,
		"transducer that no tank is configured for: V FreshWater#0": 1,
		"noise before a sentence, which was taken":                  1,
		"more than 82 characters in a sentence, which was taken":    1,
		"line too long": 1,
	})
	l, s = receiving(t, "checksum = 'optional'\n"+boat).listener, newTape()
	l.hear(s, noon, "$IIXDR,E,75.0,P,FreshWater#0", "$IIXDR,E,75.1,P,FreshWater#0*4B")
	s.All(t, "fresh 75 %")
	s.Count(t, "wrong checksum", 1)
}

func TestStrangersAreBounded(t *testing.T) {
	l, s := receiving(t, boat).listener, newTape()
	for n := range 1000 {
		l.hear(s, noon, summedUp(fmt.Sprintf("IIXDR,E,1,P,%s%d", strings.Repeat("x", 30), n)))
	}
	if len(s.Counts) != mostStrangers+1 {
		t.Errorf("%d kinds of words", len(s.Counts))
	}
	s.Count(t, unasked+"others", 1000-mostStrangers)
}

func TestTilt(t *testing.T) {
	l, s := receiving(t, "pitch = 'Trim'\n"+boat).listener, newTape()
	level := summedUp("IIXDR,E,50,P,FreshWater#0")
	l.hear(s, noon, level, summedUp("IIXDR,A,3,D,TRIM"), level)
	l.hear(s, noon.Add(9*time.Second), summedUp("IIXDR,E,50,P,FreshWater#0,A,-1.5,D,ROLL"))
	l.hear(s, noon.Add(11*time.Second), level, summedUp("IIXDR,A,200,D,Trim,A,x,D,Roll,A,,D,Roll,A,4,P,Trim"), level)
	l.hear(s, noon.Add(12*time.Second), summedUp("IIXDR,A,4,D,Trim"), level)
	s.All(t, "fresh 50 %, fresh 50 %, fresh 50 % at 3° -1.5°, fresh 50 %, fresh 50 %, fresh 50 % at 4° -1.5°")
	s.Count(t, "pitch or roll that isn't within 90 degrees", 2)
}

func TestClock(t *testing.T) {
	level := summedUp("IIXDR,E,50,P,FreshWater#0")
	zda := func(at time.Time) string { return summedUp(at.Format("GPZDA,150405.00,02,01,2006,00,00")) }
	rmc := func(at time.Time, valid string) string {
		return summedUp("GPRMC," + at.Format("150405") + ".250," + valid + at.Format(",,,,,0.0,0.0,020106,,"))
	}
	tag := func(at time.Time) string {
		text := fmt.Sprintf("c:%d", at.Unix())
		return fmt.Sprintf(`\%s*%02X\`, text, Checksum([]byte(text)))
	}
	behind := noon.Add(-time.Minute)
	for _, c := range []struct {
		name  string
		lines []string
		after time.Duration // from the lines to the level
		want  time.Time     // zero: that of arrival
		why   string
	}{
		{"none", nil, 0, time.Time{}, ""},
		{"ZDA", []string{zda(behind)}, 2 * time.Second, behind.Add(2 * time.Second), ""},
		{"RMC", []string{rmc(behind, "A")}, 2 * time.Second, behind.Add(2250 * time.Millisecond), ""},
		{"RMC not valid", []string{rmc(behind, "V")}, 0, time.Time{}, ""},
		{"the last one", []string{zda(behind), rmc(behind.Add(time.Hour), "V"), zda(behind.Add(time.Second))}, 0, behind.Add(time.Second), ""},
		{"too long ago", []string{zda(behind)}, 11 * time.Second, time.Time{}, ""},
		{"never set", []string{zda(time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC))}, 0, time.Time{}, "a clock that was never set"},
		{"RMC never set", []string{rmc(time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC), "A")}, 0, time.Time{}, "a clock that was never set"},
		{"ahead", []string{zda(noon.Add(time.Hour))}, 0, time.Time{}, "a time that is yet to come"},
		{"no such day", []string{summedUp("GPZDA,120000.00,31,02,2026,00,00"), summedUp("GPZDA,250000,01,02,2026,,"), summedUp("GPZDA,,,,,,")}, 0, time.Time{}, ""},
	} {
		l, s := receiving(t, "clock = true\n"+boat).listener, newTape()
		l.hear(s, noon, c.lines...)
		l.hear(s, noon.Add(c.after), level)
		want, clock := c.want, watch.SourceClock
		if want.IsZero() {
			want, clock = noon.Add(c.after), watch.ArrivalClock
		}
		if r := s.Readings[0]; !r.Time.Equal(want) || r.Clock != clock || !r.Arrived.Equal(noon.Add(c.after)) {
			t.Errorf("%s: %+v; expected %v, %v", c.name, r, want, clock)
		}
		if c.why != "" {
			s.Count(t, c.why, 1)
		} else if len(s.Counts) > 0 {
			t.Errorf("%s: %v", c.name, s.Counts)
		}
	}
	// A tag block's time is the sentence's own, and comes before the stream's.
	for believes, want := range map[bool]time.Time{true: behind, false: noon} {
		l, s := receiving(t, fmt.Sprintf("clock = %v\n", believes)+boat).listener, newTape()
		l.hear(s, noon, zda(behind.Add(-time.Hour)), tag(behind)+level)
		if r := s.Readings[0]; !r.Time.Equal(want) {
			t.Errorf("%v: %+v; expected %v", believes, r, want)
		}
	}
}

func TestCutter(t *testing.T) {
	var got []string
	var c cutter
	for _, part := range []string{"a\r", "\nb", "c\n\n\n", strings.Repeat("x", 2000), "yy\nd\r", strings.Repeat("z", 1024), "\r\ne"} {
		c.push([]byte(part), func(line []byte, toolong bool) {
			got = append(got, fmt.Sprintf("%.2s %d %v", line, len(line), toolong))
		})
	}
	if s := strings.Join(got, ", "); s != "a 1 false, bc 2 false, xx 1024 true, d 1 false, zz 1024 false" {
		t.Error(s)
	}
}

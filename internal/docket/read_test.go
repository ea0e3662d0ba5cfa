package docket

import (
	"strings"
	"testing"
	"time"
)

const example = "time,kind,amount,level_before_pct,level_after_pct,stopped,note\n" +
	"2026-06-01 18:30,,31.4L,22,81,yes,Tidewater Kitchen\n" +
	"2026-06-09T19:00:00+02:00,ran-out,,1.5,,,\n" +
	"2026-06-09 19:40,receipt,8USgal,2,64,no,\"hut, invented\"\n" +
	"1781200000,weighed,16kg,,55,,\n"

func TestRead(t *testing.T) {
	list, err := Read(strings.NewReader(example), "dockets.csv", nil)
	if err != nil || len(list) != 4 {
		t.Fatalf("%d dockets, %v", len(list), err)
	}
	first, out, gallons, weighed := list[0], list[1], list[2], list[3]
	if d := first.Docket; d.Kind != Receipt || d.Litres < 31.39 || d.Litres > 31.41 || !d.Stopped || !d.Time.Equal(time.Date(2026, 6, 1, 18, 30, 0, 0, time.UTC)) || first.Before != 0.22 || first.After != 0.81 || !first.Refill {
		t.Errorf("%+v", first)
	}
	if out.Docket.Kind != RanOut || out.Before != -1 || out.After != 0.015 {
		t.Errorf("%+v; expected its one level after", out)
	}
	if l := gallons.Docket.Litres; l < 30.28 || l > 30.29 || gallons.Docket.Typed != "8USgal" {
		t.Errorf("8 US gal are %g L; expected 30.283", l) // 231 cubic inches
	}
	if weighed.Docket.Kilograms != 16 || weighed.Docket.Time.Unix() != 1781200000 {
		t.Errorf("%+v", weighed)
	}
	semicolons, err := Read(strings.NewReader("\ufefftime;litres;level_before_pct;level_after_pct\n2026-06-01 18:30;31,4;22,5;81\n"), "a", nil)
	if err != nil || semicolons[0].Docket.Litres != 31.4 || semicolons[0].Before != 0.225 {
		t.Errorf("%+v, %v", semicolons, err)
	}
}

func TestReadRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                                                 "d.csv: the file is empty",
		"time,litres\n":                                    "no docket below the first row",
		"litres\n3\n":                                      "d.csv:1: there is no column time",
		"time,ohm\n":                                       `d.csv:1: there is no column "ohm"; expected some of time, kind`,
		"time,time\n":                                      "stands twice",
		"time,litres\nyesterday,3\n":                       `d.csv:2: time "yesterday" can't be read; expected`,
		"time,litres\n2026-06-01,three\n":                  `d.csv:2: litres "three" is not a number; expected`,
		"time,litres\n2026-06-01,-3\n":                     "d.csv:2: litres is -3; expected 0 to 100000",
		"time,litres\n2026-06-01,NaN\n":                    "is not a number",
		"time,litres\n2026-06-01,1e99\n":                   "expected 0 to 100000",
		"time,litres\n2026-06-01,0\n":                      "no amount",
		"time,litres,kg\n2026-06-01,3,3\n":                 "two amounts",
		"time,amount\n2026-06-01,7.4 gal\n":                `"7.4 gal" doesn't say which gallon it is`,
		"time,amount\n2026-06-01,7.4\n":                    "expected one with its unit",
		"time,kind\n2026-06-01,gift\n":                     `no kind of docket "gift"`,
		"time,litres\n2026-06-01,3,4\n":                    "3 fields; expected 2",
		"time,litres\n\"2026-06-01,3\n":                    "can't be read",
		"time,litres,stopped\n2026-06-01,3,maybe\n":        "expected yes, no or nothing",
		"time,litres,level_before_pct\n2026-06-01,3,140\n": "expected 0 to 100",
		"time,litres\n1999-06-01,3\n":                      "no time that can be",
		"time\x00":                                         "not a text file",
	} {
		_, err := Read(strings.NewReader(text), "d.csv", nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; expected %q in it", text, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(example)
	f.Add("time;litres\n2026-06-01;3,5\n")
	f.Add("time,litres,level_before_pct,level_after_pct,level_u_pct\n2026-06-01,1e5,0,100,0\n")
	f.Fuzz(func(t *testing.T, text string) {
		list, err := Read(strings.NewReader(text), "d.csv", nil)
		if err != nil {
			return
		}
		for _, s := range list {
			if err := s.Docket.Check(time.Time{}); err != nil {
				t.Errorf("a docket was read that can't be: %v", err)
			}
			if s.Before > 1 || s.After > 1 {
				t.Errorf("levels %g and %g", s.Before, s.After)
			}
		}
		if len(list) <= 6 { // whatever it says, there is an answer
			l := Learn(gasTank(), list)
			if len(l.Verdicts) != len(list) {
				t.Errorf("%d verdicts on %d dockets", len(l.Verdicts), len(list))
			}
			if l.Correction != nil {
				for i := 1; i < len(l.Correction.Levels); i++ {
					if !(l.Correction.Levels[i] > l.Correction.Levels[i-1]) {
						t.Fatalf("the correction falls, from %g to %g", l.Correction.Levels[i-1], l.Correction.Levels[i])
					}
				}
			}
		}
	})
}

package outlook

import (
	"errors"
	"testing"
	"time"
)

// A year and more by the hour is kept within its bound.
func TestStateIsBounded(t *testing.T) {
	m := New(Config{})
	at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for range 500 * 24 {
		m.Add(Drawn{From: at, To: at.Add(time.Hour), Amount: 0.002, U: 0.001})
		at = at.Add(time.Hour)
	}
	b, err := m.MarshalBinary()
	if err != nil || len(b) > 22<<10 {
		t.Fatalf("%d bytes, %v; want at most 22 KB", len(b), err)
	}
	if n := len(m.Days(1000)); n != keepDays {
		t.Errorf("%d days kept, want %d", n, keepDays)
	}
	if r := m.Rate(); r.Mid < 0.0479 || r.Mid > 0.0481 {
		t.Errorf("mean %v over all 500 days, want 0.048", r.Mid)
	}
}

func TestStateDamaged(t *testing.T) {
	m := modelOf([]Drawn{{From: time.Unix(1e9, 0), To: time.Unix(1e9+7200, 0), Amount: 0.1}}, Config{})
	good, _ := m.MarshalBinary()
	version := append([]byte(nil), good...)
	version[0] = 9
	nan := append([]byte(nil), good...)
	for i := range 8 {
		nan[len(nan)-60+i] = 0xff
	}
	for name, b := range map[string][]byte{
		"nothing": nil, "short": good[:20], "cut": good[:len(good)-1], "long": append(good[:len(good):len(good)], 0),
		"another version": version, "not a number": nan,
	} {
		again := modelOf([]Drawn{{From: time.Unix(1e9, 0), To: time.Unix(1e9+60, 0), Amount: 0.2}}, Config{})
		before, _ := again.MarshalBinary()
		err := again.UnmarshalBinary(b)
		after, _ := again.MarshalBinary()
		if !errors.Is(err, errState) || string(before) != string(after) {
			t.Errorf("%s: %v, changed: %v", name, err, string(before) != string(after))
		}
	}
}

// FuzzState takes anything in without a panic, and what it takes it gives back.
func FuzzState(f *testing.F) {
	m := modelOf([]Drawn{
		{From: time.Unix(1e9, 0), To: time.Unix(1e9+7200, 0), Amount: 0.1, U: 0.01},
		{From: time.Unix(1e9+9000, 0), To: time.Unix(1e9+400000, 0), Amount: 0.3, U: 0.01},
	}, Config{})
	b, _ := m.MarshalBinary()
	f.Add(b)
	f.Add([]byte{stateVersion})
	f.Fuzz(func(t *testing.T, b []byte) {
		m := New(Config{})
		if m.UnmarshalBinary(b) != nil {
			return
		}
		again, err := m.MarshalBinary()
		if err != nil || string(again) != string(b) {
			t.Fatalf("given back otherwise, %v", err)
		}
		now := time.Unix(2e9, 0)
		m.Add(Drawn{From: now, To: now.Add(time.Hour), Amount: 0.01, U: 0.001})
		if o := m.Ahead(Standing{Now: now.Add(time.Hour), Level: 0.5, U: 0.01, Shown: true}); o.Left.Low < 0 || o.Left.Low > o.Left.High || !orderly(o.Rate) {
			t.Fatalf("%+v", o)
		}
		if r := m.Rate(); !orderly(r) {
			t.Fatalf("%+v", r)
		}
	})
}

package language_test

import (
	"slices"
	"testing"
)

func TestLacking(t *testing.T) {
	v := small(t).Voice([]string{"Tidewater Kitchen", "R. Moor"})
	for _, test := range []struct {
		text string
		want []string
	}{
		{"Key in 0 and 101. Nothing fits R. Moor on 3 November 2025, at 1.5 Ω.", []string{"Nothing fits {1:own} on {2:date}, at {3:number} Ω."}},
		{"Key in 0 and 101.", nil},
		{"unknown · mark", []string{"unknown"}},
		{"A <1>bad</1> thing of 3 kg", []string{"A <1>bad</1> thing of {1:number} kg"}},
		{"G31 and 2nd", []string{"G31 and 2nd"}},
	} {
		if got := v.Lacking(test.text); !slices.Equal(got, test.want) {
			t.Errorf("%q: %q, want %q", test.text, got, test.want)
		}
	}
	b := small(t)
	for id, want := range map[string]bool{"Key in {1:number} and {2:number}": true, "Key in {1} and {2}": false, "by {1:own} on {2:date}": true, "Struck out: {1}": true, "Fill it to <1>the mark</1>.": true, "unknown": false} {
		if b.Covers("", id) != want {
			t.Errorf("%q: %v", id, !want)
		}
	}
}

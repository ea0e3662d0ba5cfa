package chart_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/chart"

	"pgregory.net/rapid"
)

// The areas drawn are the dark modules: each module once, none of the others.
func TestCodeLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(t, "n")
		rows := make([][]bool, n)
		for y := range rows {
			rows[y] = rapid.SliceOfN(rapid.Bool(), n, n).Draw(t, "row")
		}
		side := rapid.Float64Range(60, 400).Draw(t, "side")
		d := chart.Code("code", "", rows, side)
		if d.Width != side || d.Height != side {
			t.Fatalf("drawn %g by %g, want %g", d.Width, d.Height, side)
		}
		covered := make([][]int, n)
		for y := range covered {
			covered[y] = make([]int, n)
		}
		module := side / float64(n+8)
		for _, s := range d.Shapes {
			path := s.(chart.Path)
			if path.Role != chart.Module {
				continue
			}
			for k := 0; k < len(path.Steps); k += 5 {
				a, b := path.Steps[k].To, path.Steps[k+2].To
				index := func(v float64) int { return int(math.Round(v/module)) - 4 }
				for y := index(a.Y); y < index(b.Y); y++ {
					for x := index(a.X); x < index(b.X); x++ {
						covered[y][x]++
					}
				}
			}
		}
		for y := range rows {
			for x, dark := range rows[y] {
				if want := map[bool]int{true: 1}[dark]; covered[y][x] != want {
					t.Fatalf("module %d of row %d is covered %d times, want %d", x, y, covered[y][x], want)
				}
			}
		}
	})
}

// A code is black on white on a dark page too, and rows of unequal length draw
// no modules.
func TestCodeColours(t *testing.T) {
	var b bytes.Buffer
	if err := chart.Code("c", "d", [][]bool{{true}}, 0).SVG(&b, "c"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`fill="#000"`, `fill="#fff"`, `width="144"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in %s", want, b.String())
		}
	}
	for _, want := range []string{".gw-drawing .gw-module{fill:#000;stroke:none}", ".gw-drawing .gw-quiet{fill:#fff;stroke:none}"} {
		if !strings.Contains(chart.CSS(), want) {
			t.Errorf("the rules lack %s", want)
		}
	}
	if c := chart.Module.Printed(chart.Gas); *c.Fill != (chart.Colour{}) || c.Stroke != nil {
		t.Errorf("printed as %+v", c)
	}
	if n := len(chart.Code("c", "d", [][]bool{{true, false}, {true}}, 100).Shapes); n != 1 {
		t.Errorf("%d shapes of rows of unequal length, want the white alone", n)
	}
}

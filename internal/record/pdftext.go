package record

import (
	"strings"

	"gaugewright/internal/chart"
)

// Sizes of lettering in points.
const (
	bodySize  = 8.6
	noteSize  = 7.9
	headSize  = 10.6 // headings within a tank
	tankSize  = 17.5 // the tank's name
	titleSize = 19.5
)

// leading is the distance of baselines for a size.
func leading(size float64) float64 {
	if size > 12 {
		return 1.2 * size
	}
	return 1.36 * size
}

// baseline is how far the baseline lies under the top of a line: the letters
// take 0.93 of the size over it and 0.24 under it.
func baseline(size float64) float64 { return (leading(size)-1.17*size)/2 + 0.93*size }

// style is how a piece of text is set.
type style struct {
	size   float64
	bold   bool
	colour chart.Colour
}

// The usual styles.
func body() style   { return style{bodySize, false, chart.Ink()} }
func strong() style { return style{bodySize, true, chart.Ink()} }
func quiet() style  { return style{bodySize, false, chart.Muted()} }
func remark() style { return style{noteSize, false, chart.Muted()} }

func (s style) sized(size float64) style { s.size = size; return s }

// width gives the width of a text in points.
func (s style) width(text string) float64 {
	w, sum := fontWidths()[weight(s.bold)], 0
	for _, r := range text {
		sum += w[r]
	}
	return float64(sum) * s.size / 1000
}

func weight(bold bool) int {
	if bold {
		return 1
	}
	return 0
}

// run is text in one style. Runs follow one another without a gap.
type run struct {
	text string
	style
}

// placed is a run on a line, x from the line's beginning.
type placed struct {
	x float64
	run
}

// row is one line of text.
type row struct {
	runs  []placed
	width float64
	size  float64 // the largest
}

// wrap breaks runs into lines of a width, at plain spaces; a word that is wider
// than a line is broken where the line ends. No text gives no lines.
func wrap(runs []run, width float64) []row {
	var (
		rows []row
		cur  row
		gap  *run // a space that is due before the next word
	)
	flush := func() {
		if len(cur.runs) > 0 {
			rows = append(rows, cur)
		}
		cur, gap = row{}, nil
	}
	put := func(r run) {
		n := len(cur.runs)
		if n > 0 && cur.runs[n-1].style == r.style {
			cur.runs[n-1].text += r.text
		} else {
			cur.runs = append(cur.runs, placed{cur.width, r})
		}
		cur.width += r.width(r.text)
		cur.size = max(cur.size, r.size)
	}
	for _, word := range words(runs) {
		if word[0].text == " " {
			if len(cur.runs) > 0 {
				gap = &word[0]
			}
			continue
		}
		need := 0.0
		for _, r := range word {
			need += r.width(r.text)
		}
		space := 0.0
		if gap != nil {
			space = gap.width(" ")
		}
		if len(cur.runs) > 0 && cur.width+space+need > width+1e-6 {
			flush()
		} else if gap != nil {
			put(*gap)
			gap = nil
		}
		for _, r := range word {
			for r.text != "" {
				fits := r.fitting(width - cur.width)
				if fits == 0 {
					if len(cur.runs) > 0 {
						flush()
						continue
					}
					fits = len(string([]rune(r.text)[:1])) // narrower than any letter
				}
				put(run{r.text[:fits], r.style})
				r.text = r.text[fits:]
			}
		}
	}
	flush()
	return rows
}

// fitting gives how many bytes of a run fit into a width.
func (r run) fitting(width float64) int {
	w, sum := fontWidths()[weight(r.bold)], 0.0
	for i, c := range r.text {
		if sum += float64(w[c]) * r.size / 1000; sum > width+1e-6 {
			return i
		}
	}
	return len(r.text)
}

// words cuts runs at plain spaces: each word is the runs it is made of, and each
// stretch of spaces is a run of one space.
func words(runs []run) [][]run {
	var out [][]run
	var word []run
	for _, r := range runs {
		for text := r.text; text != ""; {
			if text[0] == ' ' {
				if word != nil {
					out, word = append(out, word), nil
				}
				out = append(out, []run{{" ", r.style}})
				text = strings.TrimLeft(text, " ")
				continue
			}
			end := strings.IndexByte(text, ' ')
			if end < 0 {
				end = len(text)
			}
			word = append(word, run{text[:end], r.style})
			text = text[end:]
		}
	}
	if word != nil {
		out = append(out, word)
	}
	return out
}

// height gives the height of lines of text.
func height(rows []row) float64 {
	h := 0.0
	for _, r := range rows {
		h += leading(r.size)
	}
	return h
}

package web

import (
	"strconv"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/watch"
)

// pastDrawing is a drawing of the past, and where its graph stands in it in percent
// of its width and height, for the script that reads it off.
type pastDrawing struct {
	chart.Drawing
	Left, Right, Top, Bottom float64
}

// signalTitles name the panels of what was read.
var signalTitles = map[watch.Signal]string{watch.Ohm: "read, Ω", watch.Volt: "read, V", watch.Count: "read, counts", watch.Percent: "read, %"}

// pastDrawn draws a tank's past.
func pastDrawn(p *tankPast, width float64) pastDrawing {
	in := looksOf(p.label.Contents)
	most := 13
	if width < 600 {
		most = 5
	}
	// Counted from the beginning of the time: those since 1970 are beyond what is drawn.
	after := func(t time.Time) float64 { return t.Sub(p.from).Seconds() }
	times := timeMarks(p.from, p.to, most)
	for i := range times {
		times[i].At -= seconds(p.from)
	}
	h := chart.History{
		Title: orElse(p.label.Label, p.label.Tank) + ": level through time", Accent: in.accent, Width: width,
		To: after(p.to), Times: times,
		TimeTitle: p.words(),
		MarkTitle: "%", Bridge: p.bridge.Seconds(),
	}
	for i := range p.label.tellable() {
		volume, unit := p.label.Units.VolumeIn(p.label.Volumes[i])
		h.Marks, h.Values, h.ValueTitle = append(h.Marks, inPct(p.label.Shares[i])), append(h.Values, volume), unit
	}
	if l := p.label.Permitted; l > 0 && l < 1 {
		h.Limit = &chart.Limited{Mark: inPct(l), Label: "permitted fill"}
	}
	for _, l := range p.levels {
		span := chart.TimeSpan{From: after(l.From), To: after(l.From.Add(p.width))}
		if l.N == 0 {
			h.Without = append(h.Without, span)
			continue
		}
		h.Levels = append(h.Levels, chart.LevelSpan{TimeSpan: span, Mean: inPct(l.Mean), Low: inPct(l.Low), High: inPct(l.High), Least: inPct(l.Min), Most: inPct(l.Max)})
	}
	for i, e := range p.events {
		h.Flags = append(h.Flags, flagOf(i+1, e, after))
	}
	for i, l := range p.lines {
		if n := len(h.Panels); i == 0 || p.lines[i-1].Signal != l.Signal || n == 0 {
			h.Panels = append(h.Panels, chart.Panel{Title: orElse(signalTitles[l.Signal], "read")})
			h.Panels[n].Least, h.Panels[n].Most = p.label.readable(l.Signal)
		}
		line := chart.PanelLine{Label: l.Source}
		for _, r := range p.read[i] {
			line.Spans = append(line.Spans, chart.ReadSpan{TimeSpan: chart.TimeSpan{From: after(r.From), To: after(r.From.Add(p.width))}, Mean: r.Mean, Least: r.Min, Most: r.Max})
		}
		last := &h.Panels[len(h.Panels)-1]
		last.Lines = append(last.Lines, line)
	}
	d, g := chart.DrawHistory(h)
	return pastDrawing{d, 100 * g.Left / d.Width, 100 * g.Right / d.Width, 100 * g.Top / d.Height, 100 * g.Bottom / d.Height}
}

// readable is between which values what was read is drawn to scale: a quarter of
// the sender's span beyond it, where a wire that is broken begins (common practice,
// no source). Both are 0 where no bounds are known.
func (l Label) readable(signal watch.Signal) (least, most float64) {
	least, most = l.Least, l.Most
	switch {
	case signal == watch.Percent:
		least, most = 0, 100
	case signal != l.Signal || !(least < most):
		return 0, 0
	}
	margin := (most - least) / 4
	return least - margin, most + margin
}

// flagOf is the flag of something that happened, with how long it went on.
func flagOf(n int, e happening, after func(time.Time) float64) chart.Flag {
	g := chart.Flag{At: after(e.at), Label: strconv.Itoa(n), Way: e.way}
	if e.to.After(e.at) {
		g.To = after(e.to)
	}
	return g
}

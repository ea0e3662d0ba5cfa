package web

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// watchedColumn is the sight column of a tank that is watched: its level with the
// 95 % interval hatched, or the tube crossed out where no level is shown.
func watchedColumn(l Label, v watch.Level, t watchedTank) chart.Drawing {
	c := chart.Column{
		Title: orElse(l.Label, l.Tank) + ": level", Accent: t.Accent, Width: 200, Height: 320,
		MarkTitle: "%", LowMark: 0, HighMark: 100,
	}
	_, unit := l.Units.VolumeIn(0)
	for i := range min(len(l.Shares), len(l.Volumes)) {
		volume, _ := l.Units.VolumeIn(l.Volumes[i])
		c.Marks, c.Values = append(c.Marks, float64(l.Shares[i])*100), append(c.Values, volume)
		c.ValueTitle = unit
	}
	if l.Permitted > 0 && l.Permitted < 1 {
		c.Limit = &chart.Limited{Mark: float64(l.Permitted) * 100, Label: "permitted fill"}
	}
	if t.Shown {
		doubt := max(v.High-v.Share, v.Share-v.Low, 0)
		c.Level = &chart.LevelMark{Mark: inPct(v.Share), DoubtMark: inPct(doubt), Label: t.Level}
	} else {
		c.Unknown = "no level"
	}
	return chart.DrawColumn(c)
}

func inPct(s quantity.Share) float64 { return float64(s) * 100 }

package web

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// leftColumn is the sight column of a tank on the owner's page. Beside one of gas
// stand no litres: nobody is to reckon what would still go in.
func leftColumn(l Label, v watch.Level, t leftTank) chart.Drawing {
	c := chart.Column{
		Title: t.Name + ": level", Accent: t.Accent, Width: 165, Height: 240,
		MarkTitle: "%", LowMark: 0, HighMark: 100,
	}
	if l.Contents == job.LPG {
		if l.Permitted > 0 && l.Permitted < 1 {
			c.Limit = &chart.Limited{Mark: float64(l.Permitted) * 100, Label: "permitted fill"}
		}
	} else {
		_, unit := l.Units.VolumeIn(0)
		for i := range min(len(l.Shares), len(l.Volumes)) {
			volume, _ := l.Units.VolumeIn(l.Volumes[i])
			c.Marks, c.Values = append(c.Marks, float64(l.Shares[i])*100), append(c.Values, volume)
			c.ValueTitle = unit
		}
	}
	if t.Shown() {
		c.Level = &chart.LevelMark{Mark: inPct(v.Share), DoubtMark: inPct(max(v.High-v.Share, v.Share-v.Low, 0)), Label: t.Level}
	} else {
		c.Unknown = "no level"
	}
	return chart.DrawColumn(c)
}

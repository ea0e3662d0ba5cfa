package web

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// benchColumn is the marks of the bench as a sight column, with the one to go to
// lit. It stands for the magnet or the float and not for what is in a tank.
func benchColumn(at *tankAt, low, high string, next benchMark) chart.Drawing {
	unit := at.Unit()
	// Both are written by us, and 0 where it isn't known how far the marks go.
	l, _ := quantity.ParseNumber(low, false)
	h, _ := quantity.ParseNumber(high, false)
	c := chart.Column{
		Title: at.Name + ": the mark to go to", Accent: at.Accent, Width: 240, Height: 400,
		MarkTitle: benchMarkHead(unit), LowMark: l, HighMark: h,
	}
	if next.Known {
		mark := unit.ToShown(next.Mark)
		c.LowMark, c.HighMark = min(c.LowMark, mark), max(c.HighMark, mark)
		c.Level = &chart.LevelMark{Mark: mark, Label: "go to " + unit.Text(next.Mark)}
	}
	if permitted := at.PermittedPct(); permitted > 0 {
		if f, err := at.Filling(); err == nil && at.Shape != nil {
			c.Limit = &chart.Limited{Mark: unit.ToShown(f.Mark(permitted / 100)), Label: "permitted fill"}
		} else if unit == curve.Dial {
			c.Limit = &chart.Limited{Mark: permitted, Label: "permitted fill"}
		}
	}
	return chart.DrawColumn(c)
}

func benchMarkHead(u curve.MarkUnit) string {
	if u == curve.Dial {
		return "Dial, %"
	}
	return "Mark, " + u.Symbol()
}

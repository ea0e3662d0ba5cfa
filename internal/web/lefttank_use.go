package web

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

// useDays is how many days of use a tank's page draws: four weeks.
const useDays = 28

// nineInTen is how many standard uncertainties hold nine of ten cases to either side
// (of the normal distribution).
const nineInTen = 1.6448536269514722

// tankUse is what a tank's page says of its use.
type tankUse struct {
	Head   string
	Figure record.Figure // of the last weeks, by the day
	Pace   string        // how it goes now, in a sentence; ""
	Hours  string        // in which part of the day; ""
	Days   string        // on which days of the week; ""
	Swing  string        // how far the reading swings with the day; "" for who isn't a fitter
	Rests  string        // on how many days it rests; ""
	CSV    string        // address of the days as a file
	Events string        // address of what happened, as a file
}

// tankUseOf is what a page says of a tank's use; nil where it isn't followed.
func tankUseOf(l Label, a ahead, i int, path string, now time.Time, fitter bool) *tankUse {
	if a.flows == nil {
		return nil
	}
	o, u := a.outlook(i), a.use(i)
	m := measureOf(l, u)
	t := &tankUse{Head: "Use by the day", CSV: path + "/use.csv", Events: path + "/events.csv"}
	if l.Contents == job.Waste {
		t.Head = "What came in by the day"
	}
	narrow := useDrawn(l, m, u, now, 350)
	t.Figure = record.Figure{ID: "use", Wide: useDrawn(l, m, u, now, 860), Narrow: &narrow}
	if r := u.Rate; r.Known && finite(r.Low) && finite(r.Mid) && finite(r.High) {
		t.Pace = fmt.Sprintf("As it goes now: %s a day.", m.around(r.Mid, r.Low, r.High))
	}
	t.Hours, t.Days = hoursWords(u.ByHour), weekdayWords(u.ByWeekday)
	if fitter {
		t.Swing = swingWords(u.Swing)
	}
	if o.Days > 0 {
		t.Rests = "This rests on " + howMany(o.Days, "whole day", "whole days") + "."
	}
	return t
}

// useDrawn draws the use of the last days.
func useDrawn(l Label, m measure, u Use, now time.Time, width float64) chart.Drawing {
	c := chart.Days{
		Title: orElse(l.Label, l.Tank) + ": use by the day", Accent: looksOf(l.Contents).accent, Width: width,
		ValueTitle: m.unit + " a day", DoubtLabel: "nine times in ten within",
	}
	known := map[string]outlook.Day{}
	for _, d := range u.Days {
		known[d.Day.In(now.Location()).Format(time.DateOnly)] = d
	}
	first := now.AddDate(0, 0, 1-useDays)
	for i := range useDays {
		day := first.AddDate(0, 0, i)
		column := chart.DayColumn{}
		if day.Weekday() == time.Monday {
			column.Label = day.Format("2 Jan")
		}
		if d, ok := known[day.Format(time.DateOnly)]; ok && finite(d.Amount) && finite(d.U) {
			v, half := d.Amount*m.full, nineInTen*d.U*m.full
			column.Value, column.Low, column.High, column.Known, column.Part = v, v-half, v+half, true, !d.Whole
		}
		c.Columns = append(c.Columns, column)
	}
	if r := u.Rate; r.Known {
		c.Pace = &chart.DayColumn{Label: "on the average", Value: r.Mid * m.full, Low: r.Low * m.full, High: r.High * m.full}
	}
	return chart.DrawDays(c)
}

// swingWords says how far the reading swings with the day, so that nobody takes it for
// use; "" where that isn't known.
func swingWords(s flow.Swing) string {
	const little = 0.005
	switch low, mid, high := inPoints(s.Low), inPoints(s.Mid), inPoints(s.High); {
	case !s.Known || !finite(s.Low) || !finite(s.Mid) || !finite(s.High):
		return ""
	case s.High < little:
		return fmt.Sprintf("The reading hardly swings with the warmth of the day: by less than %s points.", high)
	case s.Low < little/5:
		return fmt.Sprintf("Whether the reading swings with the warmth of the day can’t be told from use yet: by no more than %s points.", high)
	default:
		return fmt.Sprintf("By itself the reading goes up and down by %s points in a day (%s to %s), as with its warmth: that is no use.", mid, low, high)
	}
}

// inPoints writes a part of the scale in points, to a tenth.
func inPoints(v float64) string { return quantity.Digits(100*v, 1) }

// hoursWords says in which hours of the day most is used: the shortest run of them
// that has seven tenths of it, where that is a third of the day or less; "" where
// nothing is known.
func hoursWords(by [24]float64) string {
	all := 0.0
	for _, v := range by {
		if !finite(v) {
			return ""
		}
		all += max(0, v)
	}
	if !(all > 0) {
		return ""
	}
	for long := 1; long <= 8; long++ {
		best, most := -1, 0.7*all
		for from := range 24 {
			sum := 0.0
			for k := range long {
				sum += max(0, by[(from+k)%24])
			}
			if sum >= most {
				best, most = from, sum
			}
		}
		if best >= 0 {
			return fmt.Sprintf("Of a day’s use about %s falls between %s and %s.", tenths(most/all), hourWords(best), hourWords((best+long)%24))
		}
	}
	return "The use is spread over the day."
}

func hourWords(h int) string { return fmt.Sprintf("%02d:00", h) }

// tenths writes a share to a tenth: "80 %".
func tenths(v float64) string { return fmt.Sprintf("%.0f %%", 10*math.Round(10*v)) }

var weekdays = [7]string{"Sundays", "Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays"}

// weekdayWords says on which days of the week more is used than on others: up to
// three that have half as much again as a day has on average; "" where none stand
// out.
func weekdayWords(by [7]float64) string {
	all := 0.0
	for _, v := range by {
		if !finite(v) {
			return ""
		}
		all += max(0, v)
	}
	var days []string
	for i := 1; i <= 7; i++ { // from Monday on
		if all > 0 && by[i%7] >= 1.5*all/7 {
			days = append(days, weekdays[i%7])
		}
	}
	switch len(days) {
	case 1:
		return fmt.Sprintf("Most is used on %s.", days[0])
	case 2:
		return fmt.Sprintf("Most is used on %s and %s.", days[0], days[1])
	case 3:
		return fmt.Sprintf("Most is used on %s, %s and %s.", days[0], days[1], days[2])
	}
	return ""
}

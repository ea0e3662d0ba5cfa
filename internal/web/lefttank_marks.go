package web

import (
	"time"

	"gaugewright/internal/chart"
)

// timeMarks divides a time for its axis, by the clock and the calendar of a zone:
// so many marks at the most, but for the days among hours.
func timeMarks(from, to time.Time, most int) []chart.TimeMark {
	span := to.Sub(from)
	for _, m := range []int{5, 10, 15, 30, 60, 120, 180, 360, 720} {
		if every := time.Duration(m) * time.Minute; span <= every*time.Duration(most) {
			return clockMarks(from, to, m)
		}
	}
	zone := from.Location()
	var marks []chart.TimeMark
	label := dayLabels(from, to)
	add := func(at time.Time) {
		if !at.Before(from) && !at.After(to) {
			marks = append(marks, chart.TimeMark{At: seconds(at), Label: label(at), Day: true})
		}
	}
	days := int(span/(24*time.Hour)) + 1
	for _, every := range []int{1, 2, 7, 14} {
		if days <= every*most {
			// Counted from a Monday, so that a mark stays while time goes on.
			first := time.Date(from.Year(), from.Month(), from.Day(), 12, 0, 0, 0, zone)
			monday := time.Date(2001, 1, 1, 12, 0, 0, 0, time.UTC)
			civil := time.Date(from.Year(), from.Month(), from.Day(), 12, 0, 0, 0, time.UTC)
			off := int(civil.Sub(monday)/(24*time.Hour)) % every
			for k := -off; k <= days+1; k += every {
				d := first.AddDate(0, 0, k)
				add(dayBegins(d.Year(), d.Month(), d.Day(), zone))
			}
			return marks
		}
	}
	months := days/30 + 1
	for _, every := range []int{1, 2, 3, 6, 12, 24, 60, 120} {
		if months <= every*most {
			for k := from.Year()*12 + int(from.Month()) - 1; k <= to.Year()*12+int(to.Month()); k++ {
				if k%every == 0 {
					add(dayBegins(k/12, time.Month(k%12+1), 1, zone))
				}
			}
			return marks
		}
	}
	return marks
}

// clockMarks gives the moments at which a clock stands at a multiple of so many
// minutes, and where days begin. An hour that comes twice has its marks twice, and
// one that doesn't come has none.
func clockMarks(from, to time.Time, every int) []chart.TimeMark {
	var marks []chart.TimeMark
	label := dayLabels(from, to)
	step := time.Duration(min(every, 15)) * time.Minute // zones are quarters of an hour apart
	at := from.Truncate(step)
	day := from.Day()
	if dayBegins(from.Year(), from.Month(), from.Day(), from.Location()).Equal(from) {
		day = 0
	}
	for ; !at.After(to); at = at.Add(step) {
		if at.Before(from) {
			continue
		}
		switch minute := at.Hour()*60 + at.Minute(); {
		case at.Day() != day:
			day = at.Day()
			marks = append(marks, chart.TimeMark{At: seconds(at), Label: label(at), Day: true})
		case minute%every == 0:
			marks = append(marks, chart.TimeMark{At: seconds(at), Label: at.Format("15:04")})
		}
	}
	return marks
}

// dayLabels gives what names the days of a time, one after the other: with the year
// where it is another than before, if the time goes over several.
func dayLabels(from, to time.Time) func(time.Time) string {
	year := 0
	if from.Year() == to.Year() {
		year = from.Year()
	}
	return func(at time.Time) string {
		if at.Year() == year {
			return at.Format("2 Jan")
		}
		year = at.Year()
		return at.Format("2 Jan 2006")
	}
}

func seconds(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

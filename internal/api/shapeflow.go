package api

import (
	"math"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// Outlook is how a tank is used and how long it lasts. The same stands at the topic
// ROOT/TANK/outlook.
type Outlook struct {
	Tank       string     `json:"tank" doc:"The tank's name in the watch." example:"fresh"`
	At         *time.Time `json:"at" doc:"The time of the reading from which it is counted, UTC; null where none has come." example:"2026-11-24T13:59:58Z"`
	UsePct     *float64   `json:"use_pct_per_day" doc:"How much is used in a day, in percent of what 100 % of the scale holds; of waste, what comes in. null: that isn't known yet." example:"9.41"`
	LowPct     *float64   `json:"low_pct_per_day" doc:"Lower end of its 90 % interval." example:"8.2"`
	HighPct    *float64   `json:"high_pct_per_day" doc:"Upper end of its 90 % interval." example:"10.8"`
	UseL       *float64   `json:"use_l_per_day" doc:"The same in litres; null where the capacity isn't known." example:"9.4"`
	LowL       *float64   `json:"low_l_per_day" doc:"Lower end of its 90 % interval." example:"8.19"`
	HighL      *float64   `json:"high_l_per_day" doc:"Upper end of its 90 % interval." example:"10.79"`
	UseKg      *float64   `json:"use_kg_per_day" doc:"The same in kilograms; null where the density isn't known." example:"9.39"`
	LeftLowH   *float64   `json:"time_left_low_h" doc:"Lower end of the 90 % interval of how long it lasts from then on, hours; of waste, until it is full. Plan by this one. null: that isn't known yet." example:"118"`
	LeftMidH   *float64   `json:"time_left_mid_h" doc:"Its middle." example:"141"`
	LeftHighH  *float64   `json:"time_left_high_h" doc:"Its upper end. 9600 is as far as it is looked ahead." example:"167"`
	FillBy     *string    `json:"fill_by" doc:"The last day on which it is safe to fill, or of waste to empty it; null where that isn't known, or is far off." example:"2026-11-28"`
	Meals      *string    `json:"meals" doc:"By what its use is counted where it falls into one part of the day, such as evenings; null: by days." example:"evenings"`
	Days       int        `json:"days" doc:"On how many whole days it rests." example:"21"`
	Sentence   string     `json:"sentence" doc:"All of it in words, in English." example:"Enough for 5 to 7 evenings; fill before Sunday 29 November."`
	Calculated string     `json:"caution" doc:"What has to be said beside it: it is worked out, and is no cut-off and no leak detector." example:"Worked out from readings: not a cut-off, not a leak detector."`
}

// outlookCaution stands beside every figure that was worked out.
const outlookCaution = "Worked out from readings: not a cut-off, not a leak detector."

// OutlookOf makes of what is known of a tank what programs get. What the full scale
// holds is in m³ and kg, 0 where that isn't known.
func OutlookOf(tank string, o outlook.Outlook, full, fullKg float64, zone *time.Location) Outlook {
	if !(full > 0) {
		full = math.NaN()
	}
	if !(fullKg > 0) {
		fullKg = math.NaN()
	}
	out := Outlook{Tank: tank, At: when(o.At), Meals: said(o.Meals), Days: o.Days, Sentence: o.Sentence(zone), Calculated: outlookCaution}
	if r := o.Rate; r.Known {
		out.UsePct, out.LowPct, out.HighPct = rounded(100*r.Mid, 3), rounded(100*r.Low, 3), rounded(100*r.High, 3)
		out.UseL, out.LowL, out.HighL = rounded(1e3*full*r.Mid, 3), rounded(1e3*full*r.Low, 3), rounded(1e3*full*r.High, 3)
		out.UseKg = rounded(fullKg*r.Mid, 3)
	}
	if l := o.Left; l.Known {
		out.LeftLowH, out.LeftMidH, out.LeftHighH = rounded(l.Low.Hours(), 1), rounded(l.Mid.Hours(), 1), rounded(l.High.Hours(), 1)
	}
	if !o.FillBy.IsZero() {
		day := o.FillBy.Format(time.DateOnly)
		out.FillBy = &day
	}
	return out
}

// UseDay is the use of a day.
type UseDay struct {
	Day   string   `json:"day" doc:"Which, in the watch's zone." example:"2026-11-23"`
	Pct   *float64 `json:"use_pct" doc:"What was used, in percent of what 100 % of the scale holds." example:"9.02"`
	L     *float64 `json:"use_l" doc:"The same in litres; null where the capacity isn't known." example:"9.01"`
	Kg    *float64 `json:"use_kg" doc:"The same in kilograms; null where the density isn't known." example:"9"`
	Whole bool     `json:"whole" doc:"It was followed from its beginning to its end." example:"true"`
}

// OutlookWhole is an outlook with what it rests on.
type OutlookWhole struct {
	Outlook
	Use       []UseDay  `json:"use" nullable:"false" doc:"The use of each day, the earliest first; 400 at the most."`
	ByHour    []float64 `json:"by_hour" nullable:"false" minItems:"24" maxItems:"24" doc:"Which part of a day's use falls into each hour of the day, from midnight on in the watch's zone; all 0 where too little is known."`
	ByWeekday []float64 `json:"by_weekday" nullable:"false" minItems:"7" maxItems:"7" doc:"Which part of a week's use falls into each day, from Sunday on; all 0 where too little is known."`
}

func outlookWhole(tank string, o outlook.Outlook, u Use, zone *time.Location) OutlookWhole {
	out := OutlookWhole{Outlook: OutlookOf(tank, o, u.Full, u.FullMass, zone), Use: []UseDay{}}
	for _, d := range u.Days {
		day := UseDay{Day: d.Day.Format(time.DateOnly), Pct: rounded(100*d.Amount, 3), Whole: d.Whole}
		if u.Full > 0 {
			day.L = rounded(1e3*u.Full*d.Amount, 3)
		}
		if u.FullMass > 0 {
			day.Kg = rounded(u.FullMass*d.Amount, 3)
		}
		out.Use = append(out.Use, day)
	}
	for _, v := range u.ByHour {
		out.ByHour = append(out.ByHour, *rounded(v, 4))
	}
	for _, v := range u.ByWeekday {
		out.ByWeekday = append(out.ByWeekday, *rounded(v, 4))
	}
	return out
}

// Flow is something that came in or went out of a tank, or looked like it. The same
// stands at the topic ROOT/TANK/flow.
type Flow struct {
	Tank      string     `json:"tank" doc:"The tank's name in the watch." example:"fresh"`
	Kind      string     `json:"kind" enum:"refill,drain,use,leak,drop,stuck,fault" doc:"What: filled; let off in one go; a spell of use that stands out; a steady fall though nothing should draw; a fall faster than anything draws; a float that doesn't move; a sender that couldn't be believed." example:"refill"`
	Start     time.Time  `json:"start" doc:"When it began, as near as that is known, UTC. With the tank and the kind it tells one event from all others." example:"2026-11-24T09:12:00Z"`
	End       *time.Time `json:"end" doc:"When it ended; null while it goes on." example:"2026-11-24T09:19:30Z"`
	Found     time.Time  `json:"found" doc:"The time of the reading at which it was first told." example:"2026-11-24T09:15:00Z"`
	AmountPct *float64   `json:"amount_pct" doc:"How much, in percent of what 100 % of the scale holds; null where it has no amount." example:"41.2"`
	LowPct    *float64   `json:"low_pct" doc:"Lower end of its 90 % interval." example:"40.1"`
	HighPct   *float64   `json:"high_pct" doc:"Upper end of its 90 % interval." example:"42.3"`
	AmountL   *float64   `json:"amount_l" doc:"The same in litres; null where the capacity isn't known." example:"41.16"`
	LowL      *float64   `json:"low_l" doc:"Lower end of its 90 % interval." example:"40.06"`
	HighL     *float64   `json:"high_l" doc:"Upper end of its 90 % interval." example:"42.26"`
	AmountKg  *float64   `json:"amount_kg" doc:"The same in kilograms; null where the density isn't known." example:"41.1"`
	HourPct   *float64   `json:"per_hour_pct" doc:"Of a leak, how fast it goes, in percent an hour." example:"0.4"`
	HourL     *float64   `json:"per_hour_l" doc:"The same in litres an hour." example:"0.4"`
	BeforePct *float64   `json:"before_pct" doc:"The level before it, in percent of the scale; null where there was none." example:"38.2"`
	AfterPct  *float64   `json:"after_pct" doc:"The level after it." example:"79.4"`
	P         float64    `json:"p" minimum:"0" maximum:"1" doc:"How probable it is that it is what kind says." example:"0.998"`
	Why       *string    `json:"why" doc:"What it was told by, in a sentence; null where that needs none." example:"It fell without a pause from 23:00 on."`
}

// FlowOf makes of an event what programs get; see [OutlookOf].
func FlowOf(tank string, e flow.Event, full, fullKg float64) Flow {
	if !(full > 0) {
		full = math.NaN()
	}
	if !(fullKg > 0) {
		fullKg = math.NaN()
	}
	out := Flow{Tank: tank, Kind: string(e.Kind), Start: e.Start.UTC(), End: when(e.End), Found: e.Found.UTC(), P: *rounded(min(1, max(0, e.P)), 4), Why: said(e.Why)}
	switch e.Kind {
	case flow.Leak:
		out.HourPct, out.HourL = rounded(100*e.PerHour, 4), rounded(1e3*full*e.PerHour, 4)
		fallthrough
	case flow.Refill, flow.Drain, flow.Use, flow.Drop:
		out.AmountPct, out.LowPct, out.HighPct = rounded(100*e.Amount, 2), rounded(100*e.Low, 2), rounded(100*e.High, 2)
		out.AmountL, out.LowL, out.HighL = rounded(1e3*full*e.Amount, 3), rounded(1e3*full*e.Low, 3), rounded(1e3*full*e.High, 3)
		out.AmountKg = rounded(fullKg*e.Amount, 3)
	case flow.Fault:
		if e.Fault != watch.NoFault && e.Why == "" {
			out.Why = said(e.Fault.String())
		}
	case flow.Stuck:
	}
	if e.Before >= 0 {
		out.BeforePct = rounded(100*e.Before, 2)
	}
	if e.After >= 0 {
		out.AfterPct = rounded(100*e.After, 2)
	}
	return out
}

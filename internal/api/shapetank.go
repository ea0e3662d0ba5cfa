package api

import (
	"time"

	"gaugewright/internal/watch"
)

// Tank is one that is watched.
type Tank struct {
	Tank         string   `json:"tank" doc:"Its name in the watch." example:"fresh"`
	Label        string   `json:"label" doc:"What people call it." example:"Fresh water"`
	Contents     *string  `json:"contents" doc:"What is inside; null: that wasn't said." example:"water"`
	Scale        *string  `json:"scale" doc:"What 100 % means, in a sentence; null: that isn't known." example:"100 % is the whole tank: 99.9 L."`
	CapacityL    *float64 `json:"capacity_l" doc:"What 100 % of the scale comes to in litres; null: that isn't known." example:"99.9"`
	PermittedPct *float64 `json:"permitted_pct" doc:"Where the permitted fill stands on the scale, in percent; null where it isn't on it. Never fill beyond it." example:"80"`
	Cautions     []string `json:"cautions" nullable:"false" doc:"What has to be heeded with these contents, in sentences. Show them beside any figure of the tank."`
	Job          *string  `json:"job" doc:"The number of the job by which it is watched; null: it is known by its end values alone." example:"TK-2026-014"`
	JobTank      *string  `json:"job_tank" doc:"Its name in that job." example:"Fresh"`
}

// TankWhole is a tank with what came in for it.
type TankWhole struct {
	Tank
	Since  *time.Time `json:"first_reading" doc:"The time of the first reading that is kept, UTC; null where none is." example:"2026-10-01T06:00:00Z"`
	Counts TankCounts `json:"counts" doc:"What came in since the watch was started, and what became of it."`
}

// TankCounts are readings of a tank, by what became of them.
type TankCounts struct {
	Taken     uint64 `json:"taken" doc:"Readings that count." example:"86400"`
	Doubled   uint64 `json:"doubled" doc:"The same time and value again." example:"0"`
	Late      uint64 `json:"late" doc:"Behind a newer one, and placed by their time." example:"0"`
	TooLate   uint64 `json:"too_late" doc:"Too old to be placed." example:"0"`
	Early     uint64 `json:"early" doc:"From a time that can't be yet." example:"0"`
	NotNumber uint64 `json:"not_number" doc:"Not a number, or infinite." example:"0"`
	Spikes    uint64 `json:"spikes" doc:"Set aside by the filter." example:"3"`
	Jumps     uint64 `json:"jumps" doc:"A change faster than any tank fills or empties." example:"0"`
	Open      uint64 `json:"open" doc:"An open circuit." example:"0"`
	Short     uint64 `json:"short" doc:"A shorted circuit." example:"0"`
	Beyond    uint64 `json:"beyond" doc:"A resistance that this sender doesn't have." example:"0"`
	NoValue   uint64 `json:"no_value" doc:"The source said that it has none." example:"0"`
	Faults    uint64 `json:"faults" doc:"Spells of a fault that were found." example:"0"`
	Crowd     uint64 `json:"crowd" doc:"From more sources than are told apart." example:"0"`
}

func tankOf(t TankAbout) Tank {
	out := Tank{Tank: t.Name, Label: t.Label, Contents: said(string(t.Contents)), Scale: said(t.Sentence), Cautions: t.Cautions, Job: said(t.Job), JobTank: said(t.JobTank)}
	if out.Label == "" {
		out.Label = t.Name
	}
	if out.Cautions == nil {
		out.Cautions = []string{}
	}
	if t.Capacity > 0 {
		out.CapacityL = rounded(1e3*float64(t.Capacity), 2)
	}
	if t.Permitted > 0 {
		out.PermittedPct = rounded(100*float64(t.Permitted), 2)
	}
	return out
}

func countsOf(c watch.Counts) TankCounts {
	return TankCounts{Taken: c.Taken, Doubled: c.Doubled, Late: c.Late, TooLate: c.TooLate, Early: c.Early, NotNumber: c.NotNumber,
		Spikes: c.Spikes, Jumps: c.Jumps, Open: c.Open, Short: c.Short, Beyond: c.Beyond, NoValue: c.NoValue, Faults: c.Faults, Crowd: c.Crowd}
}

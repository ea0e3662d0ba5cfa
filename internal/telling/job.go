package telling

import (
	"fmt"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// JobTitle names a job: "Job TK-1: Tidewater Kitchen, trailer, 2026-11-03".
func JobTitle(j *job.Job) string {
	var parts []string
	for _, p := range []string{j.Customer, j.Vehicle, j.Fitter, j.Date} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	title := "Job " + j.Number
	if len(parts) > 0 {
		title += ": " + strings.Join(parts, ", ")
	}
	return title
}

// TankTitle names a tank of a job and what is stated of it: "Gas (lpg, 54 L,
// permitted fill 80 %)".
func TankTitle(t job.Tank) string {
	title := fmt.Sprintf("%s (%s", t.Name, t.Contents)
	if t.WaterCapacityL > 0 {
		title += fmt.Sprintf(", %s", quantity.CubicMetre(t.WaterCapacityL/1000))
	}
	if p := t.PermittedPct(); p > 0 {
		title += fmt.Sprintf(", permitted fill %s %%", quantity.Short(p, 2))
	}
	if h, ok := t.Heel(); ok {
		title += fmt.Sprintf(", heel %s", h)
	}
	return title + ")"
}

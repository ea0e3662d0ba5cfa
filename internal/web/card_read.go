package web

import (
	"fmt"
	"net/http"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// usualLPGFillPct is the permitted fill of a gas tank for which none is typed,
// in percent of the water capacity (common practice, no source).
const usualLPGFillPct = 80

// readTank reads the form of a new tank; what can't be read is told by field.
func readTank(r *http.Request, j *job.Job) (job.Tank, fieldFaults) {
	var faults fieldFaults
	t := job.Tank{Name: field(r, "name"), Contents: job.Contents(field(r, "contents"))}
	if t.Contents == "" {
		faults = append(faults, fieldFault{"/contents", "nothing is chosen; choose what is in the tank, or Something else where that isn’t known"})
	}
	var err error
	if t.WaterCapacityL, err = readLitres(field(r, "water_capacity_l"), volumeUnit(j)); err != nil {
		faults = append(faults, fieldFault{"/water_capacity_l", err.Error()})
	}
	if t.PermittedFillPct, err = readPercent(field(r, "permitted_fill_pct")); err != nil {
		faults = append(faults, fieldFault{"/permitted_fill_pct", err.Error()})
	}
	if t.Contents == job.LPG && field(r, "permitted_fill_pct") == "" {
		t.PermittedFillPct = usualLPGFillPct
	}
	t.Sender.Description = field(r, "description")
	if t.Sender.Claimed, err = readClaims(field(r, "claimed")); err != nil {
		faults = append(faults, fieldFault{"/claimed", err.Error()})
	}
	return t, faults
}

// volumeUnit gives the unit in which a number alone counts as a volume.
func volumeUnit(j *job.Job) string {
	_, unit := j.Shown().VolumeIn(0)
	return unit
}

// readLitres reads a volume into litres; nothing is 0.
func readLitres(text, unit string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		text += " " + unit
	}
	v, err := quantity.ParseCubicMetre(text)
	if err != nil {
		return 0, err
	}
	// To what a plate could say; it takes off the noise of the conversion.
	litres := quantity.Round(float64(v)*1000, 6)
	if !(litres > 0) {
		return 0, fmt.Errorf("found %q; expected more than nothing, or an empty field where it isn’t known", text)
	}
	return litres, nil
}

// readPercent reads a percentage with or without its sign; nothing is 0.
func readPercent(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	v, err := quantity.ParseNumber(strings.TrimSuffix(text, "%"), true)
	if err != nil {
		return 0, fmt.Errorf("%v; write percent of the water capacity, such as 80", err)
	}
	if v == 0 {
		return 0, fmt.Errorf("found 0 %%; expected 1 to 100, or an empty field where it isn’t stated")
	}
	return v, nil
}

// readClaims reads spans, each on a line or after a semicolon: "0 to 90",
// "240–33 Ω".
func readClaims(text string) ([]job.Claim, error) {
	var claims []job.Claim
	for _, line := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == ';' }) {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		c, err := readClaim(line)
		if err != nil {
			return nil, err
		}
		claims = append(claims, c)
	}
	return claims, nil
}

func readClaim(line string) (job.Claim, error) {
	plain := strings.ToLower(line)
	for _, word := range []string{"ohms", "ohm", "ω", "\u2126"} { // small omega, and the ohm sign
		plain = strings.ReplaceAll(plain, word, " ")
	}
	for _, between := range []string{" to ", "–", ":", "-"} {
		empty, full, ok := strings.Cut(plain, between)
		if !ok {
			continue
		}
		a, errA := quantity.ParseNumber(empty, true)
		b, errB := quantity.ParseNumber(full, true)
		if errA == nil && errB == nil && a >= 0 && b >= 0 {
			return job.Claim{EmptyOhm: a, FullOhm: b}, nil
		}
		break
	}
	return job.Claim{}, fmt.Errorf("%q is no span; write the ohms when empty and when full, such as 0 to 90", line)
}

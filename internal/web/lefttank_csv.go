package web

import (
	"bytes"
	"encoding/csv"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// leftTankCSV is the stretch of a tank's page as a file (RFC 4180): its levels, or
// with ?of=readings what was read, and that for a fitter alone.
func (s *Site) leftTankCSV(w http.ResponseWriter, r *http.Request) error {
	_, p, ask, err := s.pastAsked(r)
	if err != nil {
		return err
	}
	write := writeLevels
	switch of := r.URL.Query().Get("of"); {
	case of == "readings" && p.fitter:
		p.raw, write = true, writeRead
	case of == "readings":
		return &fault{http.StatusForbidden, "What was read is for the fitter to see. The levels can be had without.", nil}
	case of != "":
		return refused("Found " + strconv.Quote(of) + " for what the file is to hold; expected readings, or nothing for the levels.")
	}
	if err := s.recallPast(r.Context(), p, ask); err != nil {
		if errors.Is(err, errNothingKept) {
			return notFound("Nothing is kept here: there is no past to show.")
		}
		return err
	}
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	write(out, p)
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", fileOfTank(p.label, p.from.Format(time.DateOnly)))
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

// fileOfTank names a file of a tank.
func fileOfTank(l Label, what string) string {
	plain := strings.Trim(squeezed(strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' {
			return c
		}
		return '-'
	}, cutTo(l.Tank, 40))), "-")
	name := orElse(plain, "tank") + "-" + what + ".csv"
	return `attachment; filename="` + name + `"; filename*=UTF-8''` + url.PathEscape(name)
}

// writeLevels writes a row for each part of the time of which something is known.
func writeLevels(out *csv.Writer, p *tankPast) {
	head := []string{"time", "level_pct", "low_pct", "high_pct", "least_pct", "greatest_pct", "levels", "readings_without", "worst"}
	unit := ""
	if p.label.tellable() > 1 {
		_, unit = p.label.Units.VolumeIn(0)
		head = append(head, "volume_"+strings.ReplaceAll(strings.ToLower(unit), " ", "_"))
	}
	_ = out.Write(append(head, "events")) // the error is asked for at the end
	at := 0
	pct := func(v quantity.Share) string { return quantity.Short(inPct(v), 2) }
	write := func(when time.Time, cells []string, events []happening) {
		said := make([]string, len(events))
		for i, e := range events {
			said[i] = e.text
		}
		row := append([]string{when.In(p.now.Location()).Format(time.RFC3339)}, cells...)
		for len(row) < len(head) {
			row = append(row, "")
		}
		_ = out.Write(append(row, cellSafe(strings.Join(said, " "))))
	}
	for _, l := range p.levels {
		// What happened before this part, while nothing was known.
		for at < len(p.events) && p.events[at].at.Before(l.From) {
			write(p.events[at].at, nil, p.events[at:at+1])
			at++
		}
		first := at
		for at < len(p.events) && p.events[at].at.Before(l.From.Add(p.width)) {
			at++
		}
		cells := []string{"", "", "", "", ""}
		volume := ""
		if l.N > 0 {
			cells = []string{pct(l.Mean), pct(l.Low), pct(l.High), pct(l.Min), pct(l.Max)}
			if v, ok := p.label.volumeAt(l.Mean); ok {
				amount, _ := p.label.Units.VolumeIn(v)
				volume = quantity.Short(amount, 2)
			}
		}
		cells = append(cells, strconv.FormatInt(l.N, 10), strconv.FormatInt(l.Without, 10), orElse(ne107(l.Worst), "good"))
		if unit != "" {
			cells = append(cells, volume)
		}
		write(l.From, cells, p.events[first:at])
	}
	for ; at < len(p.events); at++ {
		write(p.events[at].at, nil, p.events[at:at+1])
	}
}

// writeRead writes a row for each source and part of the time in which it said
// something.
func writeRead(out *csv.Writer, p *tankPast) {
	units := map[watch.Signal]string{watch.Ohm: "ohm", watch.Volt: "volt", watch.Count: "count", watch.Percent: "level_pct"}
	_ = out.Write([]string{"time", "source", "unit", "mean", "least", "greatest", "readings"})
	for i, l := range p.lines {
		for _, b := range p.read[i] {
			_ = out.Write([]string{b.From.In(p.now.Location()).Format(time.RFC3339), cellSafe(l.Source), orElse(units[l.Signal], l.Signal.String()),
				quantity.Short(b.Mean, 3), quantity.Short(b.Min, 3), quantity.Short(b.Max, 3), strconv.FormatInt(b.N, 10)})
		}
	}
}

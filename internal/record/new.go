package record

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
)

// New makes the record of a job. The checksum is that of the job file, as text;
// made is when the record is made, which it says. With the zero time it says in its
// place how far the job had come ([AsOf]), so that the same job always gives the
// same record. The job isn't changed.
//
// What a job lacks is said in the record and is no error; there is one only
// where there is no job.
func New(j *job.Job, checksum string, made time.Time) (*Document, error) {
	if j == nil {
		return nil, errors.New("no job to make a record of")
	}
	asOf := made.IsZero()
	if asOf {
		made = AsOf(j)
	}
	const title = "Level sender record"
	name := title
	if number := clean(j.Number); number != "" {
		name += ", job " + number
	}
	d := &Document{
		Title: title,
		Name:  name,
		Facts: []Fact{
			fact("Customer", j.Customer), fact("Vehicle", j.Vehicle),
			fact("Job", j.Number), fact("Date", day(j.Date)), fact("Fitter", j.Fitter),
		},
		Note: clean(j.Note),
		Terms: []string{
			"This record says what was read on each sender, what was keyed in, and what the display showed. It is no test of a gas, fuel or water installation.",
			"Figures hold for the senders as they were on the day. A sender that is changed, dropped or worn needs new readings.",
		},
		Signatures: []Signature{{"Fitter", clean(j.Fitter)}, {"Customer", clean(j.Customer)}, {"Date", ""}},
		Checksum:   orNot(checksum),
		Made:       made,
		AsOf:       asOf,
		Foot:       foot(j),
		own:        j.OwnWords(),
	}
	d.Sections = sideBySide(len(j.Tanks), func(i int) Section { return tankSection(j, i) })
	d.States = states(j)
	for _, f := range j.Findings() {
		d.Findings = append(d.Findings, SentenceOf(f))
	}
	return d, nil
}

// sideBySide works something out for each tank, side by side, as each takes a
// while by itself. A panic of one comes out here, where the caller's recover finds
// it.
func sideBySide[T any](n int, of func(index int) T) []T {
	if n == 0 {
		return nil
	}
	out := make([]T, n)
	fell := make([]any, n)
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() {
			defer func() { fell[i] = recover() }()
			out[i] = of(i)
		})
	}
	all.Wait()
	for _, why := range fell {
		if why != nil {
			panic(why)
		}
	}
	return out
}

// foot is what stands at the foot of every page: short, whatever the job.
func foot(j *job.Job) string {
	const most = 72
	var parts []string
	for _, p := range []string{"Job " + orNot(j.Number), clean(j.Vehicle)} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	runes := []rune(strings.Join(parts, " · "))
	if len(runes) > most {
		return strings.TrimSpace(string(runes[:most-1])) + "…"
	}
	return string(runes)
}

// contents gives the words and the colour for what is in a tank.
func contents(c job.Contents) (string, chart.Accent) {
	switch c {
	case job.LPG:
		return "LPG", chart.Gas
	case job.Water:
		return "fresh water", chart.Water
	case job.Diesel:
		return "diesel", chart.Fuel
	case job.Petrol:
		return "petrol", chart.Fuel
	case job.Waste:
		return "waste", chart.Waste
	case job.Other, "":
		return "contents not stated", chart.Plain
	}
	return clean(string(c)), chart.Plain
}

// tankSection is one tank, from what it is to how it was proved and the code of
// it.
func tankSection(j *job.Job, index int) Section {
	t := j.Tanks[index]
	words, accent := contents(t.Contents)
	b := build(t, fmt.Sprintf("tank-%d", index+1), accent)
	b.units, b.runs = j.Shown(), true
	b.judgeLater()
	s := Section{
		ID:      b.id,
		Over:    fmt.Sprintf("Tank %d of %d: %s", index+1, len(j.Tanks), words),
		Heading: orElse(clean(t.Name), "Tank without a name"),
		Accent:  accent,
		Glance:  b.glance(),
		Blocks:  b.blocks(),
	}
	if c, ok := codeOf(j, index, b.id, codeSide); ok {
		s.Blocks = append(s.Blocks, c)
	}
	return s
}

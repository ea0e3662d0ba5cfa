package web

import (
	"net/http"
	"strconv"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

func itoa(n int) string { return strconv.Itoa(n) }

// factsBody is the form of a job's facts.
type factsBody struct {
	Inputs []cardInput
	Picks  []cardPick // of units
	Key    string
	Fresh  bool // the job has no tank yet
}

// The fields of the form, named as in a job file.
var factNames = []string{"customer", "vehicle", "number", "date", "fitter", "note"}

// unitChoices are the units to choose from, the usual one first, and the words
// for them. What may be chosen is held against [quantity.Units.Valid] in a test.
var unitChoices = []struct {
	name, label, hint string
	list              [][2]string
	at                func(*quantity.Units) *string
}{
	{"volume", "Volume", "What a tank holds is shown in it.", [][2]string{{"L", "litres"}, {"US gal", "US gallons"}, {"imp gal", "imperial gallons"}}, func(u *quantity.Units) *string { return &u.Volume }},
	{"mass", "Weight", "What gas weighs is shown in it.", [][2]string{{"kg", "kilograms"}, {"lb", "pounds"}}, func(u *quantity.Units) *string { return &u.Mass }},
	{"energy", "Heat", "The heat that is left in a fuel is shown in it.", [][2]string{{"kWh", "kilowatt hours"}, {"MJ", "megajoules"}, {"therm", "therms"}}, func(u *quantity.Units) *string { return &u.Energy }},
	{"pressure", "Pressure", "The pressure of gas is shown in it.", [][2]string{{"bar", "bar"}, {"kPa", "kilopascals"}, {"psi", "pounds per square inch"}}, func(u *quantity.Units) *string { return &u.Pressure }},
	{"temperature", "Temperature", "How warm the contents are is shown in it.", [][2]string{{"C", "degrees Celsius"}, {"F", "degrees Fahrenheit"}}, func(u *quantity.Units) *string { return &u.Temperature }},
}

// unitsWords says in which units a job is shown: "litres, kilograms, …".
func unitsWords(u quantity.Units) string {
	var words []string
	for _, c := range unitChoices {
		chosen := c.list[0][1]
		for _, o := range c.list {
			if o[0] == *c.at(&u) {
				chosen = o[1]
			}
		}
		words = append(words, chosen)
	}
	return strings.Join(words, ", ")
}

func (s *Site) factsPage(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	s.left(r, kept, "facts")
	return s.showFacts(w, r, kept, *kept.Job, newKey(), nil)
}

// showFacts shows the form with a job's facts, or with what was typed in their
// place and what is wrong with it.
func (s *Site) showFacts(w http.ResponseWriter, r *http.Request, kept *job.Kept, j job.Job, key string, faults fieldFaults) error {
	u := j.Shown()
	body := factsBody{Key: key, Fresh: len(kept.Job.Tanks) == 0, Inputs: []cardInput{
		{Name: "customer", Label: "Customer", Value: j.Customer, Hint: "Whose vehicle it is, as it is to stand on the record."},
		{Name: "vehicle", Label: "Vehicle", Value: j.Vehicle, Hint: "The vehicle, boat, trailer or cabin, in words that tell it from others."},
		{Name: "number", Label: "Job number", Value: j.Number, Hint: "The job’s number in the workshop’s own book; the one suggested is the next that is free."},
		{Name: "date", Label: "Date", Value: j.Date, Hint: "The day of the work, written year-month-day, such as 2026-11-03.", Kind: "date"},
		{Name: "fitter", Label: "Fitter", Value: j.Fitter, Hint: "Who does the work and signs the record; the next job begins with the same name."},
		{Name: "note", Label: "Note", Value: j.Note, Hint: "Anything else that the customer should read on the record.", Kind: "lines"},
	}}
	for i := range body.Inputs {
		body.Inputs[i].Fault = faults.at(body.Inputs[i].Name)
	}
	for _, c := range unitChoices {
		p := cardPick{Name: c.name, Label: c.label, Hint: c.hint, Fault: faults.at(c.name)}
		for i, o := range c.list {
			chosen := *c.at(&u)
			p.List = append(p.List, cardOption{Value: o[0], Words: o[1], Chosen: chosen == o[0] || chosen == "" && i == 0})
		}
		body.Picks = append(body.Picks, p)
	}
	v := view{Page: "facts", Title: "Facts of job " + cutTo(kept.Job.Number, 60), Job: kept, Body: body}
	if faults != nil {
		v.Fault = faults.beside(append([]string{"volume", "mass", "energy", "pressure", "temperature"}, factNames...)...)
	}
	return s.show(w, r, v)
}

func (s *Site) keepFacts(w http.ResponseWriter, r *http.Request) error {
	key := field(r, "key")
	var typed job.Job
	readFacts(&typed, r)
	kept, err := s.change(r.Context(), job.ID(r.PathValue("id")), job.Change{Key: key, By: device(r), Words: "facts kept: " + factsWords(typed),
		Do: func(j *job.Job) error { readFacts(j, r); return nil }})
	if faults := faultsOf(err); faults != nil {
		kept, err := s.job(r)
		if err != nil {
			return err
		}
		return s.showFacts(w, r, kept, typed, newKey(), faults)
	} else if err != nil {
		return err
	}
	s.keepUsual(r.Context(), usual{kept.Job.Fitter, kept.Job.Units})
	if len(kept.Job.Tanks) == 0 {
		return goTo(w, r, jobPath(kept.ID)+"/tanks")
	}
	return goTo(w, r, jobPath(kept.ID))
}

// readFacts puts what was typed into a job. Units that are all the usual ones
// stay out of it.
func readFacts(j *job.Job, r *http.Request) {
	j.Customer, j.Vehicle, j.Number = field(r, "customer"), field(r, "vehicle"), field(r, "number")
	j.Date, j.Fitter = field(r, "date"), field(r, "fitter")
	j.Note = strings.ReplaceAll(field(r, "note"), "\r\n", "\n")
	var u quantity.Units
	for _, c := range unitChoices {
		if chosen := field(r, c.name); chosen != c.list[0][0] {
			*c.at(&u) = chosen
		}
	}
	j.Units = nil
	if u != (quantity.Units{}) {
		j.Units = &u
	}
}

// factsWords is a job's facts for its history.
func factsWords(j job.Job) string {
	var list []string
	for _, t := range []string{j.Customer, j.Vehicle, "job " + j.Number, j.Date, j.Fitter} {
		if t != "" {
			list = append(list, cutTo(t, 80))
		}
	}
	return strings.Join(list, ", ")
}

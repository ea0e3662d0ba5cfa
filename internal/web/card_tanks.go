package web

import (
	"fmt"
	"net/http"
	"strings"

	"gaugewright/internal/job"
)

// tankBody is the form of a new tank.
type tankBody struct {
	Contents cardPick
	Name     cardInput
	Capacity cardInput
	Fill     cardInput
	Sender   cardInput
	Claims   cardInput
	Key      string
}

// The contents to choose from, with the name that a tank has by them where none
// is typed.
var contentsChoices = []struct {
	contents    job.Contents
	words, name string
}{
	{job.LPG, "Gas (LPG)", "Gas"},
	{job.Water, "Fresh water", "Fresh water"},
	{job.Diesel, "Diesel", "Diesel"},
	{job.Petrol, "Petrol", "Petrol"},
	{job.Waste, "Waste water", "Waste"},
	{job.Other, "Something else", "Tank"},
}

func (s *Site) newTankPage(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	s.left(r, kept, "tanks")
	return s.showNewTank(w, r, kept, newKey(), nil)
}

// showNewTank shows the form with what was typed so far.
func (s *Site) showNewTank(w http.ResponseWriter, r *http.Request, kept *job.Kept, key string, faults fieldFaults) error {
	unit := volumeUnit(kept.Job)
	body := tankBody{Key: key,
		Contents: cardPick{Name: "contents", Label: "What is in it", Fault: faults.at("contents"),
			Hint: "It decides the cautions, the colour, and how litres become kilograms and days."},
		Name: cardInput{Name: "name", Label: "Name", Hint: "What the tank is called in this job; left empty, it is named after what is in it."},
		Capacity: cardInput{Name: "water_capacity_l", Label: "Water capacity",
			Hint: "The whole inside volume as on the tank’s plate, such as 54 L or 14 US gal; a number alone counts as " + unit + ". Leave it empty if it isn’t known."},
		Fill: cardInput{Name: "permitted_fill_pct", Label: "Permitted fill, %",
			Hint: "The part of the water capacity that may be liquid. The tank’s plate and the local code decide; for gas, left empty means 80 %, as is common practice."},
		Sender: cardInput{Name: "description", Label: "Sender", Hint: "What it looks like and how it moves, such as: magnet-driven dial, rising."},
		Claims: cardInput{Name: "claimed", Label: "What its data sheet claims", Kind: "lines",
			Hint: "Ohms when empty, then when full, such as 0 to 90 or 240 to 33; each span that is claimed on a line of its own."},
	}
	for _, in := range []*cardInput{&body.Name, &body.Capacity, &body.Fill, &body.Sender, &body.Claims} {
		in.Value, in.Fault = field(r, in.Name), faults.at(in.Name)
	}
	for _, c := range contentsChoices {
		body.Contents.List = append(body.Contents.List, cardOption{string(c.contents), c.words, field(r, "contents") == string(c.contents), nameOr(job.Tank{Contents: c.contents}, kept.Job)})
	}
	v := view{Page: "newtank", Title: "A new tank for job " + cutTo(kept.Job.Number, 60), Job: kept, Body: body}
	if faults != nil {
		v.Fault = faults.beside("contents", "name", "water_capacity_l", "permitted_fill_pct", "description", "claimed")
	}
	return s.show(w, r, v)
}

func (s *Site) addTank(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	t, faults := readTank(r, kept.Job)
	if faults != nil {
		return s.showNewTank(w, r, kept, newKey(), faults)
	}
	changed, err := s.change(r.Context(), kept.ID, job.Change{Key: field(r, "key"), By: device(r), Words: "tank added: " + cutTo(nameOr(t, kept.Job), 80),
		Do: func(j *job.Job) error {
			own := t
			own.Name = nameOr(t, j)
			j.Tanks = append(j.Tanks, own)
			return nil
		}})
	if faults := faultsOf(err); faults != nil {
		return s.showNewTank(w, r, kept, newKey(), faults)
	} else if err != nil {
		return err
	}
	// The same form sent again made nothing, and leads to the same tank.
	return goTo(w, r, tankPath(changed.ID, max(1, len(changed.Job.Tanks)))+"/bench")
}

// nameOr gives the name of a tank: the one typed, or the first free one after
// what is in it.
func nameOr(t job.Tank, j *job.Job) string {
	if t.Name != "" {
		return t.Name
	}
	for _, c := range contentsChoices {
		if c.contents != t.Contents {
			continue
		}
		for n := 1; ; n++ {
			name := c.name
			if n > 1 {
				name += fmt.Sprintf(" %d", n)
			}
			if _, err := j.Tank(name); err != nil {
				return name
			}
		}
	}
	return "Tank"
}

// removeTank takes a tank out. One that was read on the bench goes only where
// the form says so as well.
func (s *Site) removeTank(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("tank")
	kept, err := s.changeTank(r, job.Change{Words: "tank removed: " + cutTo(name, 80) + removedWith(r)}, func(j *job.Job, t *job.Tank) error {
		if n := len(t.Bench.Readings); n > 0 && field(r, "with") != itoa(n) {
			return refused(fmt.Sprintf("Not removed: this tank has %s on the bench. If they are to go too, go back and tick the box beside the button.", howMany(n, "reading", "readings")))
		}
		var left []job.Tank
		for i := range j.Tanks {
			if own := &j.Tanks[i]; own != t {
				left = append(left, *own)
			}
		}
		j.Tanks = left
		return nil
	})
	if err != nil {
		return err
	}
	return goTo(w, r, jobPath(kept.ID))
}

func removedWith(r *http.Request) string {
	if with := field(r, "with"); with != "" && strings.Trim(with, "0123456789") == "" && len(with) < 6 {
		return ", with its bench readings (" + with + ")"
	}
	return ""
}

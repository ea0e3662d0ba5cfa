package sqlite

import (
	"encoding/json"

	"gaugewright/internal/job"
)

// summary gives the tanks' lines in the list as their own steps tell them.
func summary(j *job.Job) []job.CardTank {
	list := make([]job.CardTank, len(j.Tanks))
	for i, t := range j.Tanks {
		list[i] = job.CardTank{Name: t.Name, Contents: t.Contents, Done: true}
		// As in Tank.Next, without fitting the curve a second time.
		for _, s := range t.Summary() {
			if !s.Done {
				list[i].Next, list[i].Done = s.String(), false
				break
			}
		}
		if list[i].Done {
			list[i].Next = t.Next()
		}
	}
	return list
}

// lines gives them as the file has them.
func lines(tanks []job.CardTank) (string, error) {
	if tanks == nil {
		tanks = []job.CardTank{}
	}
	text, err := json.Marshal(tanks)
	return string(text), err
}

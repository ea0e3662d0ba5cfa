package web

import (
	"bytes"
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
)

// leftTankUse is the use of each day as a file (RFC 4180).
func (s *Site) leftTankUse(w http.ResponseWriter, r *http.Request) error {
	at, a, err := s.leftTankFollowed(r)
	if err != nil {
		return err
	}
	u := a.use(at.n - 1)
	m := measureOf(at.Label, u)
	head := []string{"day", "use_pct", "low_pct", "high_pct"}
	if m.unit != "%" {
		head = append(head, "use_"+columnUnit(m.unit), "low_"+columnUnit(m.unit), "high_"+columnUnit(m.unit))
	}
	rows := [][]string{append(head, "whole")}
	for _, d := range u.Days {
		if !finite(d.Amount) || !finite(d.U) {
			continue
		}
		v := [3]float64{d.Amount, d.Amount - nineInTen*d.U, d.Amount + nineInTen*d.U}
		row := append([]string{d.Day.In(s.o.Now().Location()).Format(time.DateOnly)}, figures(v[:], 100)...)
		if m.unit != "%" {
			row = append(row, figures(v[:], m.full)...)
		}
		rows = append(rows, append(row, strconv.FormatBool(d.Whole)))
	}
	return sendRows(w, at.Label, "use", s.o.Now(), rows)
}

// leftTankEvents is what happened in the time that is asked for, as a file.
func (s *Site) leftTankEvents(w http.ResponseWriter, r *http.Request) error {
	at, a, err := s.leftTankFollowed(r)
	if err != nil {
		return err
	}
	now := s.o.Now()
	ask, err := pastAskOf(r.URL.Query(), now)
	if err != nil {
		return err
	}
	list, err := a.flows.Flows(r.Context(), at.Tank, ask.from(), ask.until.Add(time.Second), 100_000)
	if err != nil {
		return err
	}
	u := a.use(at.n - 1)
	m := measureOf(at.Label, u)
	head := []string{"kind", "start", "end", "amount_pct", "low_pct", "high_pct"}
	if m.unit != "%" {
		head = append(head, "amount_"+columnUnit(m.unit), "low_"+columnUnit(m.unit), "high_"+columnUnit(m.unit))
	}
	rows := [][]string{append(head, "p", "before_pct", "after_pct", "event")}
	stamp := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.In(now.Location()).Format(time.RFC3339)
	}
	level := func(v float64) string {
		if !(v >= 0) {
			return ""
		}
		return quantity.Short(100*v, 2)
	}
	for i := len(list) - 1; i >= 0; i-- { // the earliest first
		e := list[i]
		if e.Kind != flow.Fault && !worthTelling(e) {
			continue
		}
		amounts := make([]string, len(head)-3)
		if e.Amount > 0 {
			v := []float64{e.Amount, e.Low, e.High}
			amounts = figures(v, 100)
			if m.unit != "%" {
				amounts = append(amounts, figures(v, m.full)...)
			}
		}
		row := append([]string{string(e.Kind), stamp(e.Start), stamp(e.End)}, amounts...)
		rows = append(rows, append(row, quantity.Short(e.P, 3), level(e.Before), level(e.After), cellSafe(flowWords(at.Label, m, e, now))))
	}
	return sendRows(w, at.Label, "events", now, rows)
}

// leftTankFollowed is a tank of which it is known what came in and went out.
func (s *Site) leftTankFollowed(r *http.Request) (leftAt, ahead, error) {
	at, err := s.leftTankAt(r, s.who(r))
	if err != nil {
		return at, ahead{}, err
	}
	a := aheadOf(s.o.Watch, s.o.Now())
	if a.flows == nil {
		return at, a, notFound("What came in and went out isn't followed here.")
	}
	return at, a, nil
}

// figures writes amounts for a file, each in so many per full scale.
func figures(list []float64, full float64) []string {
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = quantity.Short(v*full, 3)
	}
	return out
}

// columnUnit writes a unit for the head of a column: "us_gal".
func columnUnit(unit string) string { return strings.ReplaceAll(strings.ToLower(unit), " ", "_") }

// sendRows answers with a file of rows.
func sendRows(w http.ResponseWriter, l Label, what string, now time.Time, rows [][]string) error {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	if err := out.WriteAll(rows); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", fileOfTank(l, what+"-"+now.Format(time.DateOnly)))
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

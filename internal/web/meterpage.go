package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/sitting"
)

// tryFor is how long a meter that is tried has to answer.
const tryFor = 6 * time.Second

// metersBody is the page of the meters.
type metersBody struct {
	Now    meterWords
	List   []meterLine
	Form   meterForm
	Kinds  []option
	Asks   []option
	Gives  []option
	Ports  []string
	Tried  string // what came of trying
	Failed bool   // it came to nothing
}

// meterLine is one meter of the list.
type meterLine struct {
	Name, Reached, Identity, Words string
	Chosen                         bool
}

// option is one of several to choose from.
type option struct {
	Value, Name, Hint string
	Chosen            bool
}

// meterForm is a meter as it was typed.
type meterForm struct{ Name, Kind, Address, Baud, Ask, Gives string }

var meterKinds = []option{
	{Value: "scpi-tcp", Name: "over the network, speaking SCPI", Hint: "bench meters with a network socket; the port is 5025 unless you name another"},
	{Value: "scpi-serial", Name: "over a serial line, speaking SCPI"},
	{Value: "lines-serial", Name: "over a serial line, one number a line"},
	{Value: "lines-tcp", Name: "over the network, one number a line"},
}

var meterAsks = []option{
	{Value: "measure", Name: "MEAS:RES? – set up and read each time"},
	{Value: "read", Name: "READ? – as it is set on its front"},
}

func chosen(list []option, value string) []option {
	out := append([]option(nil), list...)
	found := false
	for i := range out {
		out[i].Chosen = out[i].Value == value
		found = found || out[i].Chosen
	}
	if !found {
		out[0].Chosen = true
	}
	return out
}

var meterSignals = []curve.Signal{curve.Ohms, curve.Volts, curve.Milliamps}

func signalOptions(now string) []option {
	out := make([]option, len(meterSignals))
	for i, s := range meterSignals {
		out[i] = option{Value: s.Column(), Name: s.Figures()}
	}
	return chosen(out, now)
}

// metersAt is the page with a form as it was typed.
func (s *Site) metersAt(f meterForm) metersBody {
	b := metersBody{Now: s.meterNow(), Form: f, Ports: s.o.Meters.Ports(),
		Kinds: chosen(meterKinds, f.Kind), Asks: chosen(meterAsks, f.Ask), Gives: signalOptions(f.Gives)}
	for _, m := range s.o.Meters.List() {
		l := meterLine{Name: m.Setup.Name, Reached: m.Setup.Address, Identity: m.Identity, Words: m.Last.Words, Chosen: m.Chosen}
		for _, k := range meterKinds {
			if k.Value == m.Setup.Kind {
				l.Reached = k.Name + ": " + m.Setup.Address
			}
		}
		b.List = append(b.List, l)
	}
	return b
}

func (s *Site) metersPage(w http.ResponseWriter, r *http.Request) error {
	return s.showMeters(w, r, s.metersAt(meterForm{}), "")
}

func (s *Site) showMeters(w http.ResponseWriter, r *http.Request, b metersBody, fault string) error {
	return s.show(w, r, view{Page: "meters", Title: "Meters", Meter: true, Fault: fault, Body: b})
}

// typedMeter reads the form of a meter.
func typedMeter(r *http.Request) (meterForm, MeterSetup, error) {
	f := meterForm{Name: field(r, "name"), Kind: field(r, "kind"), Address: field(r, "address"), Baud: field(r, "baud"), Ask: field(r, "ask"), Gives: field(r, "gives")}
	m := MeterSetup{Name: f.Name, Kind: f.Kind, Address: f.Address, Ask: f.Ask}
	for _, s := range meterSignals {
		if s.Column() == f.Gives {
			m.Signal = s
		}
	}
	if f.Baud != "" {
		n, err := strconv.Atoi(f.Baud)
		if err != nil {
			return f, m, fmt.Errorf("found %q for the speed of the serial line; expected bauds, like 9600", f.Baud)
		}
		m.Baud = n
	}
	return f, m, nil
}

func (s *Site) keepMeter(w http.ResponseWriter, r *http.Request) error {
	f, m, err := typedMeter(r)
	if err == nil {
		err = s.o.Meters.Keep(r.Context(), m)
	}
	if err != nil {
		return s.showMeters(w, r, s.metersAt(f), capital(err.Error())+". Nothing was kept.")
	}
	return goTo(w, r, "/meters")
}

func (s *Site) tryMeter(w http.ResponseWriter, r *http.Request) error {
	f, m, err := typedMeter(r)
	b := s.metersAt(f)
	if err == nil {
		ctx, cancel := context.WithTimeout(r.Context(), tryFor)
		defer cancel()
		var seen MeterSeen
		if seen, err = s.o.Meters.Try(ctx, m); err == nil {
			b.Tried, b.Failed = triedWords(seen)
		}
	}
	if err != nil {
		b.Tried, b.Failed = capital(err.Error())+".", true
	}
	return s.showMeters(w, r, b, "")
}

// triedWords says what came of trying a meter.
func triedWords(m MeterSeen) (words string, failed bool) {
	words = "It answers"
	if m.Identity != "" {
		words += " as " + m.Identity
	}
	switch m.Last.State {
	case sitting.Reading:
		return fmt.Sprintf("%s and reads %s %s.", words, valueText(m.Last.Value), m.Setup.Signal.Unit()), false
	case sitting.Overload:
		return words + ", and its leads are open: " + m.Last.Words, false
	}
	return m.Last.Words, true
}

func (s *Site) removeMeter(w http.ResponseWriter, r *http.Request) error {
	return s.meterDone(w, r, s.o.Meters.Remove(r.Context(), field(r, "name")))
}

func (s *Site) chooseMeter(w http.ResponseWriter, r *http.Request) error {
	return s.meterDone(w, r, s.o.Meters.Choose(r.Context(), field(r, "name")))
}

func (s *Site) meterDone(w http.ResponseWriter, r *http.Request, err error) error {
	if err != nil {
		return s.showMeters(w, r, s.metersAt(meterForm{}), capital(err.Error())+".")
	}
	if back := localPath(r.PostFormValue("back"), r.Host); back != "" {
		return goTo(w, r, back)
	}
	return goTo(w, r, "/meters")
}

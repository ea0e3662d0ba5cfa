package web

import (
	"fmt"
	"strconv"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// leftTankBody is the page of one tank.
type leftTankBody struct {
	Path     string
	Place    int // of the tank among those that the visitor may see
	Now      leftTank
	Fitter   bool
	Why      string // why there is no past to show
	Cautions []string
	Use      *tankUse // nil: it isn't followed
	Docket   string   // where a receipt is entered; "": by nobody, or not by who looks

	Choices        []pastChoice
	Earlier, Later string // addresses; "" where there is nothing to go to
	Latest         string
	For            string // of the stretch that is shown
	Day            string // the day on which it ends, for the field
	Today          string
	Live           bool
	Every          int // seconds after which a newer drawing is worth asking for
	Begins         string

	Shown    string // "2 Nov, 09:30 to 3 Nov, 09:30"
	Wide     pastDrawing
	Narrow   pastDrawing
	From, To float64 // seconds since 1970, for the script
	Events   []pastEvent
	More     bool
	Follows  bool     // what was drawn is known
	Drawn    []string // spells of use, the latest first
	Drew     bool     // there are earlier ones
	Unread   string   // how many sources aren't drawn
	Part     string   // how long a row of the table is
	Unit     string   // of amounts; "" where there are none
	Rows     []pastRow
	CSV      string
	ReadCSV  string // of what was read; "" for who may not see it
}

// pastChoice is one stretch to choose.
type pastChoice struct {
	Words, Address string
	Now            bool
}

// pastEvent is something that happened, with the number on its flag.
type pastEvent struct {
	N        int
	Sentence string
	Why      string // what it was told by; "" for who isn't a fitter
}

// pastRow is a row of the table: a bucket, or a time in which nothing was known.
type pastRow struct {
	From, To float64 // for the script
	Time     string
	Gap      string // what there is in the place of a level; "" where there is one
	Level    string
	Between  string
	Volume   string
	Events   string // numbers
}

// choose fills in which time is shown and which others there are.
func (b *leftTankBody) choose(p *tankPast, ask pastAsk) {
	b.For, b.Live = ask.stretch.Name, ask.live
	for _, s := range stretches {
		other := ask
		other.stretch, other.all = s, s.back == nil
		b.Choices = append(b.Choices, pastChoice{s.Words, other.address(b.Path), s.Name == ask.stretch.Name})
	}
	b.Today = p.now.Format(time.DateOnly)
	// A time that ends at midnight ends with the day before.
	b.Day = ask.until.Add(-time.Second).Format(time.DateOnly)
	b.CSV = b.Path + "/history.csv" + ask.address("")
	if b.Fitter {
		b.ReadCSV = b.CSV + "&of=readings"
	}
	if ask.all {
		return
	}
	if from := ask.from(); !p.since.IsZero() && from.After(p.since) {
		b.Earlier = pastAsk{stretch: ask.stretch, until: from}.address(b.Path)
	}
	if ask.live {
		return
	}
	b.Latest = pastAsk{stretch: ask.stretch, live: true}.address(b.Path)
	if next := later(ask); next.Before(p.now) {
		b.Later = pastAsk{stretch: ask.stretch, until: next}.address(b.Path)
	} else {
		b.Later = b.Latest
	}
}

// later gives when the stretch ends that begins where this one does.
func later(a pastAsk) time.Time {
	// The stretch that goes back to here: a month is as long as the next one, so it
	// is looked for by the day.
	to := a.until.Add(a.until.Sub(a.from()))
	for range 5 {
		back := a.stretch.back(to)
		if back.Equal(a.until) {
			break
		}
		to = to.Add(a.until.Sub(back))
	}
	return to
}

// fill writes down what is known of the past.
func (b *leftTankBody) fill(p *tankPast) {
	b.Shown = p.words()
	b.From, b.To = seconds(p.from), seconds(p.to)
	b.Every = int(min(max(p.width, 10*time.Second), 5*time.Minute) / time.Second)
	if !p.since.IsZero() {
		b.Begins = momentWords(p.since, p.now)
	}
	numbers := map[int]string{} // of events, by the row
	b.rows(p)
	at := 0
	for i, e := range p.events {
		n := i + 1
		b.Events = append(b.Events, pastEvent{n, e.text, e.why})
		for at < len(b.Rows)-1 && seconds(e.at) >= b.Rows[at].To {
			at++
		}
		if len(b.Rows) > 0 {
			if numbers[at] != "" {
				numbers[at] += ", "
			}
			numbers[at] += strconv.Itoa(n)
		}
	}
	for i, text := range numbers {
		b.Rows[i].Events = text
	}
	for i, k := 0, len(b.Events)-1; i < k; i, k = i+1, k-1 { // the latest first
		b.Events[i], b.Events[k] = b.Events[k], b.Events[i]
	}
	b.More, b.Follows, b.Drawn, b.Drew = p.more, p.follows, p.drawn, p.drew
	if p.unread > 0 {
		b.Unread = fmt.Sprintf("Of what was read %d sources are drawn and in the file, and %d are not.", len(p.lines), p.unread)
	}
	b.Wide, b.Narrow = pastDrawn(p, 860), pastDrawn(p, 350)
}

// rows writes the table, with a row for each time in which nothing was known.
func (b *leftTankBody) rows(p *tankPast) {
	b.Part = lengthWords(p.width)
	if p.label.tellable() > 1 {
		_, b.Unit = p.label.Units.VolumeIn(0)
	}
	last := p.from
	gap := func(to time.Time) {
		if to.Sub(last) > max(p.bridge, p.width) {
			b.Rows = append(b.Rows, pastRow{From: seconds(last), To: seconds(to), Time: momentWords(last, p.now) + " to " + momentWords(to, p.now), Gap: "nothing known"})
		}
	}
	for _, l := range p.levels {
		gap(l.From)
		b.Rows = append(b.Rows, pastRowOf(p, l))
		last = l.From.Add(p.width)
	}
	gap(p.to)
}

// pastRowOf is the row of one bucket.
func pastRowOf(p *tankPast, l history.LevelBucket) pastRow {
	r := pastRow{From: seconds(l.From), To: seconds(l.From.Add(p.width)), Time: momentWords(l.From, p.now)}
	if l.N == 0 || !possible(l.Mean) || !possible(l.Low) || !possible(l.High) {
		r.Gap = "read, but no level"
		if name := ne107(l.Worst); name != "" && l.Worst != watch.Good {
			r.Gap += ": " + name
		}
		return r
	}
	r.Level, r.Between = bucketLevel(l)
	if v, ok := p.label.volumeAt(l.Mean); ok {
		r.Volume = p.label.Units.VolumeText(v)
	}
	return r
}

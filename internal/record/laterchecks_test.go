package record_test

import (
	"bytes"
	"crypto/ed25519"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

// served is the sample with its fresh water checked again: the sender gives so many
// ohms more at five marks.
func served(more float64) *job.Job {
	j := sample()
	j.Tanks = j.Tanks[1:2]
	s := job.Service{Bench: job.Bench{By: "R. Moor", Date: "2027-11-09", Meter: "Bench multimeter no. 4", TemperatureC: at(4.0)}, Note: "Connector looked green."}
	for _, mark := range []float64{40, 100, 160, 220, 280} {
		x := (mark - 20) / 260
		s.Readings = append(s.Readings, job.Reading{MarkMM: at(mark), Ohm: quantity.Round(4+240*x-64*x*x+more, 1), Sweep: "up"})
	}
	j.Tanks[0].Services = []job.Service{s}
	return j
}

func TestLaterCheckStandsInTheRecord(t *testing.T) {
	text := readPage(t, html(t, served(12), record.A4)).text
	contains(t, text,
		"later check of 9 November 2027: the sender has changed",
		"After the later check of 9 November 2027:",
		"Later check of 9 November 2027: the sender has changed",
		"5 readings of the sender itself, by R. Moor on 9 November 2027, with: Bench multimeter no. 4, at 4 °C.",
		"than in the record of 3 November 2025; the odds of seeing this from noise alone are",
		"It looks like resistance added in series",
		"a sender that hasn't changed is said to have in 1 of 100 cases",
		"Connector looked green.", "Check again in ",
		// 4 + 240x − 64x² at 160 mm, x = 140/260, is 114.7, and 126.7 was read.
		"▲ 160", "126.7", "Beyond doubt",
		"Senders were read again on 9 November 2027.", "The sender itself was read again later: Fresh water.",
	)
	steady := readPage(t, html(t, served(0), record.A4)).text
	contains(t, steady, "later check of 9 November 2027: no change is seen", "No change is seen against the record of 3 November 2025")
	if strings.Contains(steady, "After the later check") {
		t.Error("nothing is to be done after a check that found nothing")
	}
	plain := readPage(t, html(t, sample(), record.A4)).text
	if strings.Contains(strings.ToLower(plain), "later check") {
		t.Error("there is no later check in the sample")
	}
}

// The same job gives the same bytes, though its later checks are judged by trials
// drawn at random and side by side.
func TestLaterChecksGiveTheSameBytes(t *testing.T) {
	write := func() []byte {
		j := served(12)
		j.Tanks[0].Services = append(j.Tanks[0].Services, served(3).Tanks[0].Services...)
		j.Tanks[0].Services[1].Date = "2028-11-09"
		d, err := record.New(j, checksum, made)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := d.PDF(&b, record.A4); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	first := write()
	for range 3 {
		if !bytes.Equal(first, write()) {
			t.Fatal("not the same bytes")
		}
	}
}

func TestLaterChecksThatCantBeJudged(t *testing.T) {
	j := served(0)
	own := &j.Tanks[0]
	own.Services = append(own.Services, job.Service{Bench: job.Bench{Date: "2028-01-01"}})
	own.Services[0].Date = "2020-01-01"
	contains(t, readPage(t, html(t, j, record.A4)).text,
		"Later check of 1 January 2020: not judged", "It can't be held against the record: the service is dated 2020-01-01",
		"Later check of 1 January 2028: no readings", "No readings of the sender, on 1 January 2028.")
	// What is keyed in now was keyed in after the check.
	j = served(12)
	j.Tanks[0].Setting.Date = "2027-12-01"
	text := readPage(t, html(t, j, record.A4)).text
	contains(t, text, "which was keyed in after this check, on 1 December 2027")
	if strings.Contains(text, "After the later check of") {
		t.Error("it was keyed in since")
	}
	// Of very many the last ones are judged.
	j = served(0)
	for range 25 {
		j.Tanks[0].Services = append(j.Tanks[0].Services, j.Tanks[0].Services[0])
	}
	contains(t, readPage(t, html(t, j, record.A4)).text, "The job file holds 26 later checks of this sender; the last 20 of them follow.")
}

// At a later visit: as found, the sender, as left, in the order of time.
func TestLaterVisitIsInOrder(t *testing.T) {
	j := served(12)
	own := &j.Tanks[0]
	point := func(mark, shown float64) job.CheckPoint { return job.CheckPoint{MarkMM: at(mark), ShownPct: shown} }
	own.Checks = append(own.Checks,
		job.Check{When: job.AsFound, Date: "2027-11-09", TolerancePct: 3, Readings: []job.CheckPoint{point(20, 2), point(150, 58), point(280, 100)}},
		job.Check{When: job.AsLeft, Date: "2027-11-09", TolerancePct: 3, Readings: []job.CheckPoint{point(20, 0), point(150, 51), point(280, 100)}})
	text := readPage(t, html(t, j, record.A4)).text
	place := -1
	for _, words := range []string{"Check as left: ", "Check as found, at a later visit: ", "in the check as left of 3 November 2025", "Later check of 9 November 2027: the", "Check as left, at a later visit: "} {
		k := strings.Index(text, words)
		if k <= place {
			t.Fatalf("%q stands at %d, after %d", words, k, place)
		}
		place = k
	}
}

// A job file that was changed after it was signed says so before all else.
func TestBrokenSignatureStandsFirst(t *testing.T) {
	j := sample()
	_, key, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Sign(key, "R. Moor", made); err != nil {
		t.Fatal(err)
	}
	whole, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	const words = "Not fit: This job file was changed after it was signed, or its signature is forged."
	read := func(text []byte) string {
		back, err := job.Read(bytes.NewReader(text), "signed.job.json")
		if err != nil {
			t.Fatal(err)
		}
		return readPage(t, html(t, back, record.A4)).text
	}
	if strings.Contains(read(whole), words) {
		t.Error("it is as it was signed")
	}
	text := read(bytes.Replace(whole, []byte("Tidewater Kitchen"), []byte("Tidewater Kitchens"), 1))
	at := strings.Index(text, words)
	if at < 0 || at > strings.Index(text, "Customer") {
		t.Errorf("the sentence stands at %d", at)
	}
}

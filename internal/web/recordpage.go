package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// recordBody is the page around the record's paper.
type recordBody struct {
	Paper  string
	Papers []option
	As     string // "record" or "card"
	Kinds  []option
	Codes  []printedCode
	Signs  bool          // job files can be signed here
	Sealed signatureBody // of the job as it was taken in
	Todo   []todoLine    // what the work still lacks
	Made   string        // when it was last handed over; "" where it wasn't
	Key    string
	Blank  bool // there is no tank yet
}

type todoLine struct{ Tank, Text, Path string }

// handedOver is what is noted of a record that was printed or made a PDF of.
type handedOver struct {
	Made     time.Time `json:"made"`
	Checksum string    `json:"checksum"` // of the job as it was then
}

func recordNote(id job.ID) string { return "record/" + string(id) }

// handOver notes that a job's record was made, as the job is now.
func (s *Site) handOver(r *http.Request, kept *job.Kept) error {
	data, err := kept.Job.Encode()
	if err != nil {
		return err
	}
	text, err := json.Marshal(handedOver{s.o.Now().UTC().Truncate(time.Second), job.Checksum(data)})
	if err != nil {
		return err
	}
	if err := s.o.Store.SetNote(r.Context(), recordNote(kept.ID), string(text)); err != nil {
		return err
	}
	s.pulse.beat(kept.ID)
	return nil
}

// lastRecord says in words when the record of a job was made last, and whether
// it is still the record of this job; "" where none was.
func (s *Site) lastRecord(ctx context.Context, kept *job.Kept) (words string, current bool, err error) {
	text, err := s.o.Store.Note(ctx, recordNote(kept.ID))
	if err != nil || text == "" {
		return "", false, err
	}
	var was handedOver
	if err := json.Unmarshal([]byte(text), &was); err != nil {
		return "", false, err
	}
	data, err := kept.Job.Encode()
	if err != nil {
		return "", false, err
	}
	words = "made " + was.Made.In(s.o.Now().Location()).Format("2 Jan")
	if was.Checksum != job.Checksum(data) {
		return words + "; the job has changed since", false, nil
	}
	return words, true, nil
}

func (s *Site) recordPage(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	s.left(r, kept, "record")
	paper, as := paperOf(r), asOf(r)
	b := recordBody{As: as, Kinds: chosen([]option{{Value: wholeRecord, Name: "The whole record"}, {Value: pocketCard, Name: "Pocket cards"}}, as),
		Codes: s.codesOf(kept.Job), Signs: s.o.SigningKey != nil, Sealed: s.signatureOf(r.Context(), kept.Job),
		Paper: string(paper), Key: newKey(), Blank: len(kept.Job.Tanks) == 0,
		Papers: chosen([]option{{Value: string(record.A4), Name: "A4"}, {Value: string(record.Letter), Name: "Letter"}}, string(paper))}
	if b.Made, _, err = s.lastRecord(r.Context(), kept); err != nil {
		return err
	}
	for i, t := range kept.Job.Tanks {
		for _, step := range t.Summary() {
			if !step.Done {
				b.Todo = append(b.Todo, todoLine{t.Name, step.String(), tankPath(kept.ID, i+1) + "/" + strings.ToLower(step.Name)})
			}
		}
	}
	return s.show(w, r, view{Page: "record", Title: "Record of job " + kept.Job.Number, Job: kept, Wide: true, Body: b})
}

// paperOf gives the paper that was asked for, or A4.
func paperOf(r *http.Request) record.Paper {
	if p, err := record.ParsePaper(r.URL.Query().Get("paper")); err == nil {
		return p
	}
	return record.A4
}

// What can be printed: the record, or of each tank the card that goes inside a
// cupboard door.
const (
	wholeRecord = "record"
	pocketCard  = "card"
)

// asOf gives which of them was asked for, or the record.
func asOf(r *http.Request) string {
	if r.URL.Query().Get("as") == pocketCard {
		return pocketCard
	}
	return wholeRecord
}

// onPaper is the record or the cards of a job.
type onPaper interface {
	HTML(w io.Writer, paper record.Paper) error
	PDF(w io.Writer, paper record.Paper) error
}

// outgoing gives a job as its file has it when it goes out, history and all, so
// that the checksum in a record is that of the job file which goes with it. It may
// be shared and is never changed.
func (s *Site) outgoing(ctx context.Context, kept *job.Kept) (*job.Job, error) {
	key := fmt.Sprintf("%s/%d", kept.ID, kept.Revision)
	out, ok := s.gone.get(key)
	if !ok {
		var err error
		if out, err = job.Export(ctx, s.o.Store, kept); err != nil {
			return nil, err
		}
		s.gone.put(key, out)
	}
	return out, nil
}

// printedOf makes what was asked for of a job.
func (s *Site) printedOf(r *http.Request, kept *job.Kept) (onPaper, error) {
	j, err := s.outgoing(r.Context(), kept)
	if err != nil {
		return nil, err
	}
	if asOf(r) == wholeRecord {
		d, err := s.documentOf(j)
		if err != nil {
			return nil, err
		}
		return d.In(s.book(r)), nil
	}
	data, err := j.Encode()
	if err != nil {
		return nil, err
	}
	sum := job.Checksum(data)
	c, ok := s.cards.get(sum)
	if !ok {
		if c, err = record.NewCards(j, sum, time.Time{}); err != nil {
			return nil, err
		}
		s.cards.put(sum, c)
	}
	return c.In(s.book(r)), nil
}

// documentOf makes the record of a job, in English. It may be shared and is never changed.
func (s *Site) documentOf(j *job.Job) (*record.Document, error) {
	data, err := j.Encode()
	if err != nil {
		return nil, err
	}
	sum := job.Checksum(data)
	d, ok := s.records.get(sum)
	if !ok {
		if d, err = record.New(j, sum, time.Time{}); err != nil {
			return nil, err
		}
		s.records.put(sum, d)
	}
	return d, nil
}

// recordPaper is the record itself, as a page of its own.
func (s *Site) recordPaper(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	d, err := s.printedOf(r, kept)
	if err != nil {
		return err
	}
	return s.givePaper(w, d, paperOf(r))
}

// givePaper writes a record as a page of its own.
func (s *Site) givePaper(w http.ResponseWriter, d onPaper, paper record.Paper) error {
	var b bytes.Buffer
	if err := d.HTML(&b, paper); err != nil {
		return err
	}
	style, err := styleHash(b.Bytes())
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	// It has its rules in itself, as a file has to; those alone are let through.
	h.Set("Content-Security-Policy", "default-src 'none'; style-src '"+style+"'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'")
	_, _ = b.WriteTo(w)
	return nil
}

// styleHash gives the hash of a page's one style element, as a policy names it
// (CSP Level 3, 8.3).
func styleHash(page []byte) (string, error) {
	_, rest, ok := bytes.Cut(page, []byte("<style>"))
	rules, _, end := bytes.Cut(rest, []byte("</style>"))
	if !ok || !end {
		return "", errors.New("the record has no style element")
	}
	sum := sha256.Sum256(rules)
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:]), nil
}

// recordPDF is the record as a PDF, or the cards. Making the record counts as handing
// it over.
func (s *Site) recordPDF(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	d, err := s.printedOf(r, kept)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := d.PDF(&b, paperOf(r)); err != nil {
		return err
	}
	if asOf(r) == pocketCard {
		return givePDF(w, kept.Job, &b, ".card.pdf")
	}
	if err := s.handOver(r, kept); err != nil {
		return err
	}
	return givePDF(w, kept.Job, &b, ".record.pdf")
}

// givePDF gives a PDF of a name with an ending.
func givePDF(w http.ResponseWriter, j *job.Job, pdf *bytes.Buffer, ending string) error {
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", disposition("inline", j, ending))
	_, _ = pdf.WriteTo(w)
	return nil
}

// noteRecord notes that the record was printed; a card by itself is no record.
func (s *Site) noteRecord(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	if asOf(r) == pocketCard {
		return goTo(w, r, jobPath(kept.ID)+"/record?as="+pocketCard)
	}
	if err := s.handOver(r, kept); err != nil {
		return err
	}
	return goTo(w, r, jobPath(kept.ID)+"/record")
}

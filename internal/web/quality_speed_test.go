package web

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
)

// BenchmarkPages is how long the program needs for a page, without the network and
// the browser, on a disk with a thousand jobs as large as the sample. A page should
// be there within 100 ms, which is felt as at once (common practice); 30 ms leaves
// room for a small computer. What the record says of how
// long a tank lasts takes longer once, until the job is changed.
func BenchmarkPages(b *testing.B) {
	store := onDisk(b)
	var id job.ID
	for i := range 1000 {
		j, err := job.ReadFile("testdata/sample.job.json")
		if err != nil {
			b.Fatal(err)
		}
		j.Number = fmt.Sprintf("TK-2026-%04d", i)
		if id, err = store.Start(context.Background(), "", j, sunday.Add(time.Duration(i)*time.Minute)); err != nil {
			b.Fatal(err)
		}
	}
	key := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	s, err := New(Options{Store: store, Now: func() time.Time { return sunday }, SigningKey: func(bool) (ed25519.PrivateKey, error) { return key, nil }})
	if err != nil {
		b.Fatal(err)
	}
	kept, err := store.Job(context.Background(), id)
	if err != nil {
		b.Fatal(err)
	}
	// Two changes, so that there is a past.
	for _, note := range []string{"once", "twice"} {
		if _, err := store.Change(context.Background(), id, job.Change{At: sunday, Words: note, Do: func(j *job.Job) error { j.Note = note; return nil }}); err != nil {
			b.Fatal(err)
		}
	}
	at := jobPath(id)
	for _, page := range [][2]string{
		{"jobs", "/"}, {"jobs-find", "/?find=tidewater+gas"}, {"words", "/words"}, {"meters", "/meters"},
		{"card", at}, {"facts", at + "/facts"}, {"newtank", at + "/tanks"}, {"history", at + "/history"},
		{"bench", at + "/1/bench"}, {"bench-48-readings", at + "/2/bench"}, {"correct", at + "/1/bench/correct?ref=" + sitting.Ref(kept.Job.Tanks[0], 2)},
		{"curve", at + "/1/curve"}, {"set-two-point", at + "/1/set"}, {"set-table", at + "/2/set"}, {"set-own", at + "/1/set?lower=3&upper=98"}, {"set-try", at + "/1/set/try?lower=3&upper=98"},
		{"prove", at + "/1/prove"}, {"tank", at + "/1/tank"}, {"contents", at + "/1/contents"},
		{"history-compared", at + "/history?from=1&to=3"}, {"past", at + "/at/1/card"}, {"past-changes", at + "/at/3/changes"}, {"past-file", at + "/at/1/file"}, {"past-paper", at + "/at/1/paper"},
		{"fromcode", fromCodePath}, {"signing", signingPath}, {"record-card-paper", at + "/record/paper?as=card"}, {"record-card-pdf", at + "/record/pdf?as=card"}, {"file", at + "/file"}, {"file-signed", at + "/signed"},
		{"record", at + "/record"}, {"record-paper", at + "/record/paper"}, {"record-pdf", at + "/record/pdf"},
	} {
		b.Run(page[0], func(b *testing.B) { benchmarkGet(b, s, page[1]) })
	}
}

package job

import (
	"bytes"
	"crypto/ed25519"
	"flag"
	"os"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write the golden files anew")

const samplePath = "testdata/tidewater.job.json"

// sample gives the invented job of the Tidewater Kitchen.
func sample(t testing.TB) (*Job, []byte) {
	t.Helper()
	data, err := os.ReadFile(samplePath)
	if err != nil {
		t.Fatal(err)
	}
	j, err := Read(bytes.NewReader(data), "tidewater.job.json")
	if err != nil {
		t.Fatal(err)
	}
	return j, data
}

// samplePathV2 is a job of version 2 that uses every field.
const samplePathV2 = "testdata/tidewater-v2.job.json"

func sampleV2(t testing.TB) (*Job, []byte) {
	t.Helper()
	data, err := os.ReadFile(samplePathV2)
	if err != nil {
		t.Fatal(err)
	}
	j, err := Read(bytes.NewReader(data), "tidewater-v2.job.json")
	if err != nil {
		t.Fatal(err)
	}
	return j, data
}

// A file of version 1 is written as it was, but for its version.
func TestSampleOfVersion1(t *testing.T) {
	j, data := sample(t)
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if want := bytes.Replace(data, []byte(`"version": 1`), []byte(`"version": 2`), 1); j.Version != Version || !bytes.Equal(text, want) {
		t.Errorf("a file of version 1 read as version %d is written as\n%s", j.Version, text)
	}
}

func TestSampleIsAsWritten(t *testing.T) {
	j, data := sampleV2(t)
	if *update {
		sampleHistory(t, j)
	}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(samplePathV2, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(text, data) {
		t.Errorf("the sample isn't as Encode writes it; run with -update and look at the difference\n%s", text)
	}
}

// testKey is a key that everybody knows.
var testKey = ed25519.NewKeyFromSeed([]byte("a seed of thirty-two known bytes"))

// sampleHistory gives the sample a history and a signature of its own.
func sampleHistory(t *testing.T, j *Job) {
	t.Helper()
	first, err := j.Copy()
	if err != nil {
		t.Fatal(err)
	}
	first.History, first.Vehicle, first.Tanks = nil, "food trailer", first.Tanks[:2]
	second, err := first.Copy()
	if err != nil {
		t.Fatal(err)
	}
	second.Tanks, second.Vehicle = j.Tanks, j.Vehicle
	day := time.Date(2025, 11, 5, 16, 0, 0, 0, time.UTC)
	if err := first.Revise(nil, time.Time{}, "", "begun"); err != nil {
		t.Fatal(err)
	}
	second.History = first.History
	if err := second.Revise(first, day, "A. Example", "five tanks put in"); err != nil {
		t.Fatal(err)
	}
	third, err := second.Copy()
	if err != nil {
		t.Fatal(err)
	}
	third.Date = "2025-11-05"
	if err := third.Revise(second, day.AddDate(0, 0, 1), "A. Example", "date put right"); err != nil {
		t.Fatal(err)
	}
	if err := third.Sign(testKey, "A. Example", day.AddDate(1, 0, 0)); err != nil {
		t.Fatal(err)
	}
	*j = *third
}

func ptr[T any](v T) *T { return &v }

func errText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

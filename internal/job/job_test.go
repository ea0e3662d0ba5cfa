package job

import (
	"bytes"
	"flag"
	"os"
	"testing"
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

func TestSampleIsAsWritten(t *testing.T) {
	j, data := sample(t)
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(samplePath, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(text, data) {
		t.Errorf("the sample isn't as Encode writes it; run with -update and look at the difference\n%s", text)
	}
}

func ptr[T any](v T) *T { return &v }

func errText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

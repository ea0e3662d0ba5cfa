package tag

import (
	"reflect"
	"slices"
	"testing"

	"gaugewright/internal/job"
)

// FuzzDecode: no text makes it panic, and a job that is read is written as the
// same code again.
func FuzzDecode(f *testing.F) {
	j := printable(f)
	for i := range j.Tanks {
		c, err := Encode(j, j.Tanks[i].Name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(c.Text)
	}
	f.Add("GW2:ABC")
	f.Add("GW1:%69 VD92EX0")
	f.Fuzz(func(t *testing.T, text string) {
		if j, err := Decode(text); err == nil {
			same(t, j)
		}
	})
}

// FuzzPayload is FuzzDecode behind the checksum.
func FuzzPayload(f *testing.F) {
	j := printable(f)
	for i := range j.Tanks {
		p, _, err := fill(j, &j.Tanks[i])
		if err != nil {
			f.Fatal(err)
		}
		data, err := encoding.Marshal(p)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	data, err := encoding.Marshal(fine(f))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		text := wrapped(data)
		j, err := Decode(text)
		if err != nil {
			return
		}
		if again := same(t, j); again != text {
			t.Errorf("%q is read, and written again as %q", text, again)
		}
	})
}

// same holds that a restored job is restored again as it is, and gives its code.
func same(t *testing.T, j *job.Job) string {
	t.Helper()
	c, err := Encode(j, "")
	if err != nil {
		t.Fatalf("a job that was read can't be written: %v", err)
	}
	again, err := Decode(c.Text)
	if err != nil || !reflect.DeepEqual(again, j) {
		t.Fatalf("came back as %+v, %v; want %+v", again, err, j)
	}
	return c.Text
}

// printable gives the sample job without tanks that there is nothing to print of.
func printable(t testing.TB) *job.Job {
	t.Helper()
	j, err := job.ReadFile("../job/testdata/tidewater-v2.job.json")
	if err != nil {
		t.Fatal(err)
	}
	j.Tanks = slices.DeleteFunc(j.Tanks, func(tank job.Tank) bool {
		return tank.Setting == nil && len(tank.Bench.Readings) == 0 && tank.Sender.Known == nil
	})
	return j
}

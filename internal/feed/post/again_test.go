package post

import (
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// What is sent again because no answer came counts once, as the page on posting
// promises.
func TestSentAgain(t *testing.T) {
	s := &sink{}
	_, url := running(t, s, Config{})
	instrument, err := watch.Ends(10, 180, quantity.CubicMetre(0.1))
	if err != nil {
		t.Fatal(err)
	}
	w, err := watch.New(watch.Config{Tank: "fresh", Instrument: instrument})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Now().UTC().Add(-time.Minute).Truncate(time.Second)
	body := `[{"ohm":95,"time":"` + at.Format(time.RFC3339) + `"},{"ohm":95.2,"time":"` + at.Add(time.Second).Format(time.RFC3339) + `"}]`
	for range 3 {
		if a := send(t, "POST", url+"/readings/fresh", "application/json", body); a.status != 200 {
			t.Fatal(a.text)
		}
	}
	for _, r := range s.taken() {
		w.Take(r)
	}
	if c := w.Counts(); c.Taken != 2 || c.Doubled != 4 {
		t.Errorf("%+v; expected 2 taken and 4 doubled", c)
	}
}

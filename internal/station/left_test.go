package station

import (
	"bufio"
	"net/http"
	"strings"
	"testing"
	"time"
)

// A page that follows the owner's page of a running watch is told of a reading that
// comes in, at once or after a second, and holds nobody up when the watch stops.
func TestLeftFollowsAStation(t *testing.T) {
	s, _ := started(t, withDoors, Options{})
	at := "http://" + s.listener.Addr().String()
	answer, err := http.Get(at + "/left/live")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	told := func() string {
		t.Helper()
		for lines.Scan() {
			if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				return data
			}
		}
		return ""
	}
	if first := told(); !strings.Contains(first, `"ages":[null]`) {
		t.Fatalf("before any reading it says %q", first)
	}
	r, err := http.Post(at+"/readings", "application/json", strings.NewReader(`{"tank":"fresh","ohm":95}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	begun := time.Now()
	if next := told(); strings.Contains(next, "null") || time.Since(begun) > 3*time.Second {
		t.Fatalf("after a reading it says %q, %v later", next, time.Since(begun))
	}
	begun = time.Now()
	if err := s.Stop(); err != nil || time.Since(begun) > 3*time.Second {
		t.Errorf("the stop took %v with a page that follows: %v", time.Since(begun), err)
	}
	if rest := told(); rest != "" {
		t.Errorf("after the stop it says %q", rest)
	}
}

package app

import (
	"net/http"
	"strings"
	"testing"

	"gaugewright/internal/api"
	"gaugewright/internal/doors"
)

// Programs are answered before the pages: by anyone on this machine, by nobody who
// isn't known where others reach it.
func TestPrograms(t *testing.T) {
	a := started(t, Options{Version: "1.2.3"})
	for path, want := range map[string]string{"api/v1/tanks": `{"tanks":[]}`, "api/v1/standing": `"version":"1.2.3"`, "healthz": "true", "metrics": `gaugewright_build_info{`} {
		if status, text := get(t, http.DefaultClient, a.URL()+path); status != 200 || !strings.Contains(text, want) {
			t.Errorf("%s: %d %s", path, status, text)
		}
	}
	guarded := started(t, Options{NewPhrase: "four words will do", Guarded: true})
	if status, text := get(t, http.DefaultClient, guarded.URL()+"api/v1/tanks"); status != 401 {
		t.Errorf("a guarded program answers anyone: %d %s", status, text)
	}
	if status, _ := get(t, http.DefaultClient, guarded.URL()+"healthz"); status != 200 {
		t.Errorf("a guarded program isn't seen to be alive: %d", status)
	}
	known := started(t, Options{NewPhrase: "four words will do", Guarded: true, May: func(r *http.Request) (api.Access, error) {
		return api.Access{Visitor: doors.Visitor{Role: doors.Owner}}, nil
	}})
	if status, text := get(t, http.DefaultClient, known.URL()+"api/v1/tanks"); status != 200 {
		t.Errorf("who is known gets %d %s", status, text)
	}
}

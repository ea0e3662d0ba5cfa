package api

import (
	"encoding/json"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
)

// writeProblem answers with a refusal as RFC 9457 has it, outside of the
// operations.
func writeProblem(w http.ResponseWriter, no *Refusal) {
	head := w.Header()
	for name, value := range no.headers() {
		head.Set(name, value)
	}
	head.Set("Content-Type", "application/problem+json")
	head.Set("Cache-Control", "no-store")
	head.Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(no.Status)
	// Where it can't be written the program is gone.
	_ = json.NewEncoder(w).Encode(&huma.ErrorModel{Title: http.StatusText(no.Status), Status: no.Status, Detail: no.Detail})
}

package api

import (
	"bytes"
	"encoding/json"
	"net/http"
	"reflect"
	"sync"

	"github.com/danielgtaylor/huma/v2"
)

// documentVersion is that of the API, by semantic versioning: its addresses and
// fields, whatever the program's own version is.
const documentVersion = "1.0.0"

// config is what is said of the API as a whole. Nothing of the library's own is
// served: no page that loads its parts from elsewhere, and no addresses of schemas.
func config() huma.Config {
	c := huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info: &huma.Info{
				Title: "Gaugewright", Version: documentVersion,
				Description: "The levels of tanks, their past, and how the watch stands that makes them. Units are in the names of fields; null is for what isn't known. Times are UTC. Fields may be added in time; those here stay as they are. A level is a figure, not a cut-off: never fill by it, and never beyond the permitted fill. It isn't a leak detector.",
			},
			Servers: []*huma.Server{{URL: "/", Description: "Where the document was fetched from."}},
			Tags: []*huma.Tag{
				{Name: "tanks", Description: "What is watched."},
				{Name: "levels", Description: "What is in it now."},
				{Name: "history", Description: "What was."},
				{Name: "readings", Description: "Putting readings in."},
				{Name: "watch", Description: "How the watch itself stands."},
			},
			Components: &huma.Components{
				Schemas: huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer),
				SecuritySchemes: map[string]*huma.SecurityScheme{"bearer": {
					Type: "http", Scheme: "bearer",
					Description: "A token made on the page \"Who may look\". Where this machine alone reaches the program none is asked for, unless it was told to.",
				}},
			},
		},
		Formats:                      map[string]huma.Format{"application/json": huma.DefaultJSONFormat, "json": huma.DefaultJSONFormat},
		DefaultFormat:                "application/json",
		RejectUnknownQueryParameters: true,
	}
	// Fields may be added to answers in time.
	c.AllowAdditionalPropertiesByDefault = true
	return c
}

// document serves one of the OpenAPI documents.
func (a *API) document(which int) http.HandlerFunc {
	made := sync.OnceValues(func() ([]byte, error) {
		now, before, err := a.Documents()
		return [][]byte{now, before}[which], err
	})
	return func(w http.ResponseWriter, _ *http.Request) {
		text, err := made()
		if err != nil {
			writeProblem(w, a.refusal(err))
			return
		}
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "no-cache")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		_, _ = w.Write(text) // a client that went away is no matter
	}
}

// Documents gives the OpenAPI documents of the API, by OpenAPI 3.1 and by 3.0, laid
// out for people.
func (a *API) Documents() (now, before []byte, err error) {
	a.asked()
	if now, err = json.Marshal(a.huma.OpenAPI()); err != nil {
		return nil, nil, err
	}
	if before, err = a.huma.OpenAPI().Downgrade(); err != nil {
		return nil, nil, err
	}
	for _, text := range []*[]byte{&now, &before} {
		var laid bytes.Buffer
		if err := json.Indent(&laid, *text, "", "  "); err != nil {
			return nil, nil, err
		}
		laid.WriteByte('\n')
		*text = laid.Bytes()
	}
	return now, before, nil
}

func typeOf[T any]() reflect.Type { return reflect.TypeFor[T]() }

func ptr[T any](v T) *T { return &v }

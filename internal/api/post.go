package api

import (
	"context"
	"mime"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

// PostAsked is readings that are posted.
type PostAsked struct {
	TankPath
	ContentType string `header:"Content-Type" hidden:"true"`
	RawBody     []byte `contentType:"application/json"`
}

// Posted says what became of readings that were posted.
type Posted struct {
	Kept int `json:"kept" doc:"How many readings are on disk: all of them." example:"1"`
}

// Reading is one that is posted: what feed.Decode reads.
type Reading struct {
	_        struct{} `additionalProperties:"false"`
	Ohm      *float64 `json:"ohm,omitempty" nullable:"true" doc:"Ohms; one of ohm, volt, count and level_pct has to be there. null: the source has no value." example:"118.4"`
	Volt     *float64 `json:"volt,omitempty" nullable:"true" doc:"Volts at an input." example:"1.65"`
	Count    *float64 `json:"count,omitempty" nullable:"true" doc:"A converter's count." example:"2011"`
	LevelPct *float64 `json:"level_pct,omitempty" nullable:"true" doc:"A level in percent that something else worked out." example:"52.3"`
	Time     any      `json:"time,omitempty" doc:"When it was measured: RFC 3339 text, or Unix seconds as a number. Without one the time of arrival stands." example:"\"2026-11-24T14:02:11Z\""`
	PitchDeg *float64 `json:"pitch_deg,omitempty" minimum:"-180" maximum:"180" doc:"How the vehicle stood: degrees, positive is nose up." example:"1.5"`
	RollDeg  *float64 `json:"roll_deg,omitempty" minimum:"-180" maximum:"180" doc:"Degrees, positive is right side down." example:"-0.5"`
	Fault    string   `json:"fault,omitempty" doc:"The source says in its own words that it is broken; a value then means nothing." example:"input open"`
	Source   string   `json:"source,omitempty" pattern:"^[A-Za-z0-9_-]{1,32}$" doc:"Whose reading it is, where several read one tank." example:"bay"`
}

func (a *API) postOperation() {
	op := operation(http.MethodPost, post, "post-readings", "/tanks/{tank}/readings", "readings", "Put readings in",
		"One reading or up to 1,000 in a list. It answers 200 when they are on disk, which may take as long as commits are apart; of a payload all readings count or none. What is sent again counts once.")
	op.MaxBodyBytes, op.BodyReadTimeout, op.SkipValidateBody = mostBody, sentWithin, true
	op.Errors = append(op.Errors, http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType, http.StatusTooManyRequests)
	op.Security = []map[string][]string{{"bearer": {}}, {}}
	huma.Register(a.huma, op, func(ctx context.Context, in *PostAsked) (*Body[Posted], error) {
		n, err := a.take(ctx, in)
		if err != nil {
			return nil, a.refusal(err).asError()
		}
		return &Body[Posted]{Posted{n}}, nil
	})
	document := a.huma.OpenAPI()
	reading := document.Components.Schemas.Schema(typeOf[Reading](), true, "Reading")
	document.Components.Schemas.Map()["Reading"].Properties["time"].OneOf = []*huma.Schema{{Type: huma.TypeString, Format: "date-time"}, {Type: huma.TypeNumber}}
	number := &huma.Schema{Type: huma.TypeNumber, Description: "A number alone, in the tank's own signal."}
	one := []*huma.Schema{number, reading}
	document.Paths[op.Path].Post.RequestBody = &huma.RequestBody{
		Required: true, Description: "A number in the tank's own signal, an object, or a list of these: 65,536 bytes and 1,000 readings at the most.",
		Content: map[string]*huma.MediaType{"application/json": {
			Schema: &huma.Schema{OneOf: append(one, &huma.Schema{Type: huma.TypeArray, MaxItems: ptr(1000), Items: &huma.Schema{OneOf: one}})},
			Examples: map[string]*huma.Example{
				"number": {Summary: "ohms", Value: 118.4},
				"object": {Summary: "with its time", Value: map[string]any{"ohm": 118.4, "time": "2026-11-24T14:02:11Z"}},
			},
		}},
	}
}

func (a *API) take(ctx context.Context, in *PostAsked) (int, error) {
	if kind, _, err := mime.ParseMediaType(in.ContentType); in.ContentType != "" && (err != nil || kind != "application/json" && kind != "text/plain") {
		return 0, &Refusal{Status: http.StatusUnsupportedMediaType, Detail: "The content type is " + strings.ToValidUTF8(in.ContentType, "?") + ". Expected application/json, or text/plain for a number."}
	}
	if _, err := a.tankWhere(in.Tank, whose(ctx).Publishes(in.Tank)); err != nil {
		return 0, err
	}
	if a.o.Take == nil {
		return 0, &Refusal{Status: http.StatusServiceUnavailable, Detail: "No readings are taken here."}
	}
	ctx, cancel := context.WithTimeout(ctx, keptWithin)
	defer cancel()
	return a.o.Take.Post(ctx, in.Tank, in.RawBody)
}

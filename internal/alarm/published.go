package alarm

import "time"

// Published is an alarm as the network and programs have it: plain JSON, described in
// docs/alarms.md, the AsyncAPI document and that of the API.
type Published struct {
	ID       string     `json:"id" doc:"The tank's name, a slash, and the alarm's." example:"gas/leak"`
	Tank     string     `json:"tank" doc:"The tank's name in the watch." example:"gas"`
	Kind     Kind       `json:"kind" enum:"low,high,leak,fault,stale,rate" doc:"What it is about." example:"leak"`
	Priority Priority   `json:"priority" enum:"critical,high,medium,low" doc:"How soon somebody has to do something." example:"critical"`
	State    State      `json:"state" enum:"normal,unacknowledged,acknowledged,returned,shelved,suppressed,out-of-service" doc:"Its state in the diagram of IEC 62682 and ISA-18.2." example:"unacknowledged"`
	Active   bool       `json:"active" doc:"Whether what it is about is there, whatever was done about the alarm." example:"true"`
	Since    *time.Time `json:"since" doc:"In this state since then, UTC; null: always." example:"2026-11-26T02:10:00Z"`
	Raised   *time.Time `json:"raised" doc:"When what it is about began, of the last time, UTC; null: never." example:"2026-11-26T02:10:00Z"`
	Cleared  *time.Time `json:"cleared" doc:"When that was over, UTC; null: it isn't, or never began." example:"2026-11-26T07:40:00Z"`
	Until    *time.Time `json:"until" doc:"Shelved until then, UTC; null: it isn't shelved." example:"2026-11-26T08:00:00Z"`
	By       *string    `json:"by" doc:"Who acknowledged it, shelved it or took it out of service; null: nobody." example:"Robin"`
	Setting  *string    `json:"setting" doc:"The setpoint, for people; null: it has none." example:"15 %"`
	What     *string    `json:"what" doc:"What it is about, in a sentence, as it was when it was raised; null: it never was." example:"Gas leaks 0.2 kg an hour."`
	Sentence string     `json:"sentence" doc:"How it stands, in sentences." example:"That began on 26 November 2026 at 02:10. Nobody has acknowledged it."`
	Says     *string    `json:"says" doc:"What to do, in a sentence; null: nothing is said." example:"Shut the valve."`
}

// Publish gives an alarm as the network has it.
func (s Standing) Publish() Published {
	when := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		t = t.UTC()
		return &t
	}
	said := func(text string) *string {
		if text == "" {
			return nil
		}
		return &text
	}
	p := Published{ID: s.Rule.ID, Tank: s.Rule.Tank, Kind: s.Rule.Kind, Priority: s.Rule.Priority, State: s.State, Active: s.Active,
		Since: when(s.Since), Raised: when(s.Raised), Cleared: when(s.Cleared), By: said(s.By), Setting: said(s.Rule.Setting),
		What: said(s.What), Sentence: s.Sentence, Says: said(s.Rule.Says)}
	if s.State == Shelved {
		p.Until = when(s.Until)
	}
	return p
}

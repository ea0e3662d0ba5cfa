package job

import "encoding/json"

// Revision is one change of a job.
type Revision struct {
	Time  string `json:"time,omitempty"` // RFC 3339
	By    string `json:"by,omitempty"`
	Words string `json:"words"` // what was done
	// Was is the SHA-256 of the job's content before, in hexadecimal; see
	// [Job.Content]. It is "" where there was no job before, or none that is known.
	Was string `json:"was"`
	// Undo makes the content before of the content after.
	Undo []Operation `json:"undo"`
}

// Operation is one operation of a JSON Patch (RFC 6902).
type Operation struct {
	Op    string          `json:"op"`              // Add, Remove or Replace
	Path  string          `json:"path"`            // JSON Pointer (RFC 6901)
	Value json.RawMessage `json:"value,omitempty"` // none for Remove
}

// The operations that an undo is made of.
const (
	Add     = "add"
	Remove  = "remove"
	Replace = "replace"
)

package job

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"

	"gaugewright/internal/strict"
)

// content gives what a job says as plain values: its file without version, history
// and signature.
func (j *Job) content() (map[string]any, error) {
	whole := j.whole()
	whole.History, whole.Signature = nil, nil
	text, err := plainJSON(&whole)
	if err != nil {
		return nil, err
	}
	var tree map[string]any
	if err := json.Unmarshal(text, &tree); err != nil {
		return nil, err
	}
	delete(tree, "version")
	noMinusZero(tree)
	return tree, nil
}

// noMinusZero makes 0 of -0 in plain values, as a file is read.
func noMinusZero(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for name, value := range v {
			v[name] = noMinusZero(value)
		}
	case []any:
		for i, value := range v {
			v[i] = noMinusZero(value)
		}
	case float64:
		return v + 0
	}
	return v
}

// digest gives the SHA-256 of the canonical JSON of plain values in hexadecimal.
func digest(tree any) (string, error) {
	text, err := strict.Canonical(tree)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// SameContent says whether two jobs say the same, whatever their history and
// signature.
func (j *Job) SameContent(other *Job) bool {
	a, errA := j.content()
	b, errB := other.content()
	return errA == nil && errB == nil && equal(a, b)
}

// Copy gives a job of the caller's own that shares nothing with this one that can
// be changed.
func (j *Job) Copy() (*Job, error) {
	text, err := plainJSON(j)
	if err != nil {
		return nil, err
	}
	out := new(Job)
	if err := json.Unmarshal(text, out); err != nil {
		return nil, err
	}
	out.Seal = j.Seal
	for i := range out.Tanks {
		out.Tanks[i].Folder, out.Tanks[i].kept = j.Tanks[i].Folder, j.Tanks[i].kept
	}
	return out, nil
}

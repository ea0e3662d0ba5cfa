package job

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/strict"
)

// Encode gives the job as a file: UTF-8, LF, fields in the order of the types,
// numbers in the fewest digits that read back as the same value. A job that
// Read would refuse is refused with what is wrong with it; its version is
// always written as [Version].
func (j *Job) Encode() ([]byte, error) {
	name := strings.TrimSpace("job " + strict.Clip(j.Number))
	if j.Version != 0 && j.Version != Version {
		return nil, &FileError{Name: name, Path: "/version", Msg: fmt.Sprintf("found %d; this program writes version %d", j.Version, Version)}
	}
	whole := j.whole()
	return strict.Encode(form, name, &whole, (*Job).rules)
}

// whole gives the job as it is written.
func (j *Job) whole() Job {
	whole := *j
	whole.Version = Version
	whole.Tanks = append([]Tank{}, j.Tanks...)
	for i := range whole.Tanks {
		// A list that is nil is an empty list in the file and never null.
		t := &whole.Tanks[i]
		if t.Bench.Readings == nil {
			t.Bench.Readings = []Reading{}
		}
		t.Services = slices.Clone(t.Services)
		for k := range t.Services {
			if t.Services[k].Readings == nil {
				t.Services[k].Readings = []Reading{}
			}
		}
	}
	whole.History = slices.Clone(j.History)
	for i := range whole.History {
		if whole.History[i].Undo == nil {
			whole.History[i].Undo = []Operation{}
		}
	}
	return whole
}

// Checksum gives the SHA-256 of a job file's bytes in hexadecimal, for a
// record to say which file it was made from.
func Checksum(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

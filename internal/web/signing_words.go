package web

import (
	"context"
	"fmt"

	"gaugewright/internal/job"
)

// signatureBody is what is to be said of a job's signature.
type signatureBody struct {
	Text string // in sentences; "" where it isn't signed
	Bad  bool   // it doesn't hold
}

// signatureOf says whether a job file is as it was signed, and by whose key. A
// name that stands in the file is the signer's own word, and only a key that is
// known says whose it is.
func (s *Site) signatureOf(ctx context.Context, j *job.Job) signatureBody {
	if j.Signature == nil || j.Seal == job.Unsigned {
		return signatureBody{}
	}
	if j.Seal == job.Broken {
		return signatureBody{"Its signature doesn’t hold: the file was changed after it was signed, or the signature is forged.", true}
	}
	return signatureBody{Text: s.whose(ctx, j.Signature.Key) + " " + j.Signature.Sentence()}
}

// whose says whose a key is.
func (s *Site) whose(ctx context.Context, key string) string {
	if s.o.SigningKey != nil {
		if own, err := s.o.SigningKey(false); err == nil && own != nil && publicOf(own) == key {
			return "Its signature holds, and is that of this workshop."
		}
	}
	list, err := s.trusted(ctx)
	if err != nil {
		s.o.Log.Warn("the keys of other workshops can't be read", "error", err)
	}
	for _, known := range list {
		if known.Key == key {
			return fmt.Sprintf("Its signature holds, and is by the key of %s, which is trusted here.", known.Name)
		}
	}
	return "Its signature holds: the file is as it was signed. Whose the key is isn’t known here, so anybody may have signed it."
}

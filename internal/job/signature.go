package job

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/finding"
	"gaugewright/internal/strict"
)

// Signature is somebody's word for a job file: an Ed25519 signature (RFC 8032) of
// the canonical JSON (RFC 8785) of the whole file without the signature's value.
type Signature struct {
	By    string `json:"by,omitempty"` // in the signer's own words
	Time  string `json:"time"`         // RFC 3339, in the signer's own words
	Key   string `json:"key"`          // the public key, 32 bytes in base64 (RFC 4648, section 4)
	Value string `json:"value"`        // 64 bytes in base64
}

// Seal is what became of a signature when its file was read.
type Seal int

// What may become of it.
const (
	Unsigned Seal = iota // there is none
	Sound                // it is that of the file as it stands
	Broken               // it isn't: the file was changed after it was signed
)

// What is wrong with a signature.
var (
	// ErrUnsigned: nobody signed the file.
	ErrUnsigned = errors.New("the file isn't signed")
	// ErrBroken: the signature isn't that of the file as it stands.
	ErrBroken = errors.New("the file was changed after it was signed, or the signature is forged")
	// ErrOtherKey: the signature is sound, and of another key than was asked for.
	ErrOtherKey = errors.New("the file is signed with another key than the one to be trusted")
)

// Sign signs a job file as Encode writes it, in the place of any signature before.
// By and at are the signer's own words. A job that Encode refuses isn't signed.
func (j *Job) Sign(key ed25519.PrivateKey, by string, at time.Time) error {
	if len(key) != ed25519.PrivateKeySize {
		return errors.New("not a private key of Ed25519")
	}
	public := key[ed25519.PrivateKeySize-ed25519.PublicKeySize:] // RFC 8032, section 5.1.5: kept behind the seed
	signed := *j
	signed.Signature = &Signature{
		By: clean(by, mostBy, false), Time: at.UTC().Format(time.RFC3339), Key: base64.StdEncoding.EncodeToString(public),
		Value: base64.StdEncoding.EncodeToString(make([]byte, ed25519.SignatureSize)),
	}
	text, err := signed.Encode()
	if err != nil {
		return err
	}
	message, _, err := vouched("job "+strict.Clip(j.Number), text)
	if err != nil {
		return err
	}
	signed.Signature.Value = base64.StdEncoding.EncodeToString(ed25519.Sign(key, message))
	j.Signature, j.Seal = signed.Signature, Sound
	return nil
}

// Unsign takes the signature off.
func (j *Job) Unsign() { j.Signature, j.Seal = nil, Unsigned }

// Verify looks whether the text of a job file is as it was signed, and gives the
// signature where there is one. It goes by the text as it stands, so that it holds
// for files of any version that can be read, and for those of other programs.
// Where one key is to be trusted, another's is refused; nil trusts any. Errors are
// [ErrUnsigned], [ErrBroken] and [ErrOtherKey], or those of reading.
func Verify(name string, text []byte, trusted ed25519.PublicKey) (*Signature, error) {
	message, signature, err := vouched(name, text)
	if err != nil {
		return nil, err
	}
	if signature == nil {
		return nil, ErrUnsigned
	}
	key, errKey := base64.StdEncoding.DecodeString(signature.Key)
	value, errValue := base64.StdEncoding.DecodeString(signature.Value)
	if errKey != nil || errValue != nil || len(key) != ed25519.PublicKeySize || !ed25519.Verify(key, message, value) {
		return signature, ErrBroken
	}
	if trusted != nil && !trusted.Equal(ed25519.PublicKey(key)) {
		return signature, ErrOtherKey
	}
	return signature, nil
}

// vouched gives what a signature is of, and the signature; nil where there is none.
func vouched(name string, text []byte) ([]byte, *Signature, error) {
	tree, err := form.Values(name, text)
	if err != nil {
		return nil, nil, err
	}
	file, _ := tree.(map[string]any)
	object, ok := file["signature"].(map[string]any)
	if !ok {
		return nil, nil, nil
	}
	field := func(name string) string { text, _ := object[name].(string); return text }
	signature := &Signature{By: field("by"), Time: field("time"), Key: field("key"), Value: field("value")}
	delete(object, "value")
	message, err := strict.Canonical(file)
	return message, signature, err
}

// seal notes what became of the signature of the text that the job was read from.
func (j *Job) seal(text []byte) {
	j.Seal = Unsigned
	if j.Signature == nil {
		return
	}
	j.Seal = Broken
	if _, err := Verify("", text, nil); err == nil {
		j.Seal = Sound
	}
}

// KeyMark gives the first digits of the SHA-256 of a public key in base64, by
// which people tell keys apart: "3f0a 91c2 77de 08b4"; "" for what is no key.
func KeyMark(key string) string {
	raw, err := base64.StdEncoding.DecodeString(key)
	if err != nil || len(raw) != ed25519.PublicKeySize {
		return ""
	}
	sum := sha256.Sum256(raw)
	digits := hex.EncodeToString(sum[:8])
	return strings.Join([]string{digits[:4], digits[4:8], digits[8:12], digits[12:]}, " ")
}

// Sentence says whose the signature is and when it was made, by the signer's own
// words.
func (s Signature) Sentence() string {
	by, on := "somebody who gave no name", "a day that isn't stated"
	if s.By != "" {
		by = s.By
	}
	if at, err := time.Parse(time.RFC3339, s.Time); err == nil {
		on = at.UTC().Format("2 January 2006, 15:04 UTC")
	}
	return fmt.Sprintf("Signed by %s on %s with the key %s; the name and the date are the signer's own word.", by, on, KeyMark(s.Key))
}

// Findings gives what is to be known of the job file as a whole.
func (j *Job) Findings() []finding.Finding {
	if j.Seal != Broken || j.Signature == nil {
		return nil
	}
	return []finding.Finding{{Kind: "signature", Weight: finding.Bad,
		Text: "This job file was changed after it was signed, or its signature is forged. Don't rely on what it says; ask for the file again from where it came."}}
}

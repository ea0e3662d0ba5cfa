package web

import (
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"net/http"
	"strings"

	"gaugewright/internal/job"
)

// trustedNote is where the keys of other workshops are noted.
const trustedNote = "trusted-keys"

// mostTrusted is how many workshops may be trusted.
const mostTrusted = 200

// workshop is another workshop whose signature is known.
type workshop struct {
	Name string `json:"name"`
	Key  string `json:"key"` // public, in base64 as in a job file
}

// Mark gives the digits by which people tell the key from others.
func (w workshop) Mark() string { return job.KeyMark(w.Key) }

// signingBody is the page of keys.
type signingBody struct {
	Signs    bool   // files can be signed here
	Own      string // the mark of the workshop's own key; "" where none was made yet
	Pem      string // its public part
	Trusted  []workshop
	Key      string
	Name     string // as typed
	Text     string // the key, as typed
	BadName  string
	BadText  string
	Stated   string // what was done
	KeyFault string // why the own key can't be read
}

// trusted gives the workshops whose keys are known.
func (s *Site) trusted(ctx context.Context) ([]workshop, error) {
	text, err := s.o.Store.Note(ctx, trustedNote)
	if err != nil || text == "" {
		return nil, err
	}
	var list []workshop
	err = json.Unmarshal([]byte(text), &list)
	for _, w := range list {
		ownIn(ctx, w.Name)
	}
	return list, err
}

func (s *Site) signingPage(w http.ResponseWriter, r *http.Request) error {
	return s.showSigning(w, r, signingBody{})
}

func (s *Site) showSigning(w http.ResponseWriter, r *http.Request, b signingBody) error {
	b.Key, b.Signs = newKey(), s.o.SigningKey != nil
	var err error
	if b.Trusted, err = s.trusted(r.Context()); err != nil {
		return err
	}
	if b.Signs {
		key, err := s.o.SigningKey(false)
		if err != nil {
			s.o.Log.Error("the key to sign with", "error", err)
			b.KeyFault = asSentence(err.Error())
		} else if key != nil {
			b.Own, b.Pem = job.KeyMark(publicOf(key)), pemOf(key)
		}
	}
	v := view{Page: "signing", Title: "Signatures", Body: b, Fault: b.BadName}
	if v.Fault == "" {
		v.Fault = b.BadText
	}
	return s.show(w, r, v)
}

// publicOf gives the public part of a key as job files have it.
func publicOf(key ed25519.PrivateKey) string {
	public, _ := key.Public().(ed25519.PublicKey)
	return base64.StdEncoding.EncodeToString(public)
}

// pemOf gives the public part of a key as [job.NewKey] writes it.
func pemOf(key ed25519.PrivateKey) string {
	data, err := x509.MarshalPKIXPublicKey(key.Public())
	if err != nil {
		return ""
	}
	return string(pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: data}))
}

// makeKey makes the workshop's key, once.
func (s *Site) makeKey(w http.ResponseWriter, r *http.Request) error {
	if s.o.SigningKey == nil {
		return notFound("Nothing can be signed here.")
	}
	if _, err := s.o.SigningKey(true); err != nil {
		return &fault{http.StatusInternalServerError, asSentence(err.Error()), err}
	}
	return goTo(w, r, signingPath)
}

// trust notes the key of another workshop.
func (s *Site) trust(w http.ResponseWriter, r *http.Request) error {
	b := signingBody{Name: field(r, "name"), Text: strings.TrimSpace(r.PostFormValue("public"))}
	list, err := s.trusted(r.Context())
	if err != nil {
		return err
	}
	if n := len([]rune(b.Name)); n == 0 || n > 200 {
		b.BadName = "Write whose key it is, in up to 200 characters."
	}
	key, err := readPublic(b.Text)
	switch {
	case err != nil:
		b.BadText = asSentence(err.Error())
	case len(list) >= mostTrusted:
		b.BadText = fmt.Sprintf("There are %d workshops already; take one off first.", mostTrusted)
	}
	for _, known := range list {
		if known.Key == key && b.BadText == "" {
			b.BadText = fmt.Sprintf("This key is there already, as that of %s.", known.Name)
		}
	}
	if b.BadName != "" || b.BadText != "" {
		return s.showSigning(w, r, b)
	}
	if err := s.noteTrusted(r.Context(), append(list, workshop{b.Name, key})); err != nil {
		return err
	}
	return goTo(w, r, signingPath)
}

// distrust takes the key of a workshop off.
func (s *Site) distrust(w http.ResponseWriter, r *http.Request) error {
	list, err := s.trusted(r.Context())
	if err != nil {
		return err
	}
	var left []workshop
	for _, known := range list {
		if known.Key != field(r, "public") {
			left = append(left, known)
		}
	}
	if err := s.noteTrusted(r.Context(), left); err != nil {
		return err
	}
	return goTo(w, r, signingPath)
}

func (s *Site) noteTrusted(ctx context.Context, list []workshop) error {
	text, err := json.Marshal(list)
	if err != nil {
		return err
	}
	return s.o.Store.SetNote(ctx, trustedNote, string(text))
}

// readPublic reads a public key: as a file has it, or its 32 bytes in base64 as a
// job file has them.
func readPublic(text string) (string, error) {
	if job.KeyMark(text) != "" {
		return text, nil
	}
	key, err := job.ParsePublicKey([]byte(text))
	if err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(key), nil
}

// signedFile is the job file with the workshop's signature.
func (s *Site) signedFile(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	if s.o.SigningKey == nil {
		return notFound("Nothing can be signed here.")
	}
	key, err := s.o.SigningKey(true)
	if err != nil {
		return &fault{http.StatusInternalServerError, asSentence(err.Error()), err}
	}
	out, err := job.Export(r.Context(), s.o.Store, kept)
	if err != nil {
		return err
	}
	if err := out.Sign(key, out.Fitter, s.o.Now()); err != nil {
		return err
	}
	return s.giveFile(w, out, ".signed.job.json")
}

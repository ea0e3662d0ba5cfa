package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"gaugewright/internal/job"
)

type jobKey struct {
	File string `arg:"" help:"The file for the private key; the public one goes beside it, with .pub behind its name. Neither may be there yet."`
}

// Run makes a pair of keys.
func (v *jobKey) Run(s streams) error {
	public := v.File + ".pub"
	for _, path := range []string{v.File, public} {
		if err := mustBeNew(path, "choose another name"); err != nil {
			return err
		}
	}
	private, open, err := job.NewKey(rand.Reader)
	if err != nil {
		return err
	}
	if err := writeNew(v.File, private, 0o600); err != nil {
		return err
	}
	if err := writeNew(public, open, 0o644); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "The private key is in %s: keep it to yourself, with a copy in a safe place. Whoever has it can sign in your name.\nThe public key is in %s: give it to whoever is to verify your files.\n", v.File, public)
	return nil
}

// writeNew writes a file that mustn't be there yet, for nobody else to read from
// its first byte on where the mode says so.
func writeNew(path string, data []byte, mode os.FileMode) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

type jobSign struct {
	File string `arg:"" help:"The job file."`
	Key  string `required:"" placeholder:"FILE" help:"The private key, as job key writes it."`
	By   string `help:"Who signs; the job's fitter unless given."`
}

// Run signs a job file.
func (v *jobSign) Run(s streams) error {
	j, err := job.ReadFile(v.File)
	if err != nil {
		return err
	}
	text, err := os.ReadFile(v.Key)
	if err != nil {
		return err
	}
	key, err := job.ParsePrivateKey(text)
	if err != nil {
		return fmt.Errorf("%s: %w", v.Key, err)
	}
	if v.By == "" {
		v.By = j.Fitter
	}
	was := j.Seal
	if err := j.Sign(key, v.By, time.Now()); err != nil {
		return err
	}
	if err := j.WriteFile(v.File); err != nil {
		return err
	}
	switch was {
	case job.Broken:
		fmt.Fprintf(s.err, "gaugewright: the signature before was not that of the file; the new one takes its place and vouches for the file as it stands now\n")
	case job.Sound:
		fmt.Fprintf(s.err, "gaugewright: the new signature takes the place of the one before\n")
	}
	fmt.Fprintln(s.out, j.Signature.Sentence())
	return nil
}

type jobVerify struct {
	File  string `arg:"" help:"The job file, or - for standard input."`
	Trust string `placeholder:"FILE" help:"The public key that it has to be signed with; without it any key will do, and who holds it is for you to know."`
	JSON  bool   `name:"json" help:"Write the result as JSON."`
}

// Run tells whether a job file is as it was signed.
func (v *jobVerify) Run(s streams) error {
	var trusted ed25519.PublicKey
	if v.Trust != "" {
		text, err := os.ReadFile(v.Trust)
		if err != nil {
			return err
		}
		if trusted, err = job.ParsePublicKey(text); err != nil {
			return fmt.Errorf("%s: %w", v.Trust, err)
		}
	}
	name := v.File
	read := os.ReadFile
	if v.File == "-" {
		name, read = standardInput, func(string) ([]byte, error) { return io.ReadAll(io.LimitReader(s.in, job.MaxBytes+1)) }
	}
	text, err := read(v.File)
	if err != nil {
		return err
	}
	signature, err := job.Verify(name, text, trusted)
	var file *job.FileError
	if errors.As(err, &file) {
		return err // no file at all that could be signed
	}
	said := v.sentence(name, signature, err)
	if v.JSON {
		var out fields
		out.set("good", err == nil)
		out.set("sentence", said)
		if signature != nil {
			out.set("by", signature.By)
			out.set("time", signature.Time)
			out.set("key", signature.Key)
			out.set("key_mark", job.KeyMark(signature.Key))
		}
		if err := writeJSON(s.out, out); err != nil {
			return err
		}
	} else {
		fmt.Fprintln(s.out, said)
	}
	if err != nil {
		return errBad
	}
	return nil
}

func (v *jobVerify) sentence(name string, signature *job.Signature, err error) string {
	switch {
	case errors.Is(err, job.ErrUnsigned):
		return name + ": not signed, so nobody vouches for it."
	case errors.Is(err, job.ErrOtherKey):
		return fmt.Sprintf("%s: signed, but not with the key in %s. %s", name, v.Trust, signature.Sentence())
	case err != nil:
		return name + ": changed after it was signed, or the signature is forged; don't rely on it."
	}
	return name + ": as it was signed. " + signature.Sentence()
}

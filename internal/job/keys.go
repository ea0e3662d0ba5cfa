package job

import (
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
)

// NewKey makes a pair of keys to sign job files with, each as PEM (RFC 7468): the
// private key in PKCS #8 (RFC 8410), the public one as SubjectPublicKeyInfo.
func NewKey(random io.Reader) (private, public []byte, err error) {
	pub, priv, err := ed25519.GenerateKey(random)
	if err != nil {
		return nil, nil, err
	}
	a, err := x509.MarshalPKCS8PrivateKey(priv)
	if err != nil {
		return nil, nil, err
	}
	b, err := x509.MarshalPKIXPublicKey(pub)
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: a}), pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: b}), err
}

// ParsePrivateKey reads the private key that NewKey writes.
func ParsePrivateKey(text []byte) (ed25519.PrivateKey, error) {
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "PRIVATE KEY" {
		return nil, errors.New(`no private key in it; expected "BEGIN PRIVATE KEY", as job key writes it`)
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, fmt.Errorf("the private key can't be read: %w", err)
	}
	own, ok := key.(ed25519.PrivateKey)
	if !ok {
		return nil, errors.New("a private key of another kind; expected Ed25519, as job key writes it")
	}
	return own, nil
}

// ParsePublicKey reads the public key that NewKey writes.
func ParsePublicKey(text []byte) (ed25519.PublicKey, error) {
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "PUBLIC KEY" {
		return nil, errors.New(`no public key in it; expected "BEGIN PUBLIC KEY", as job key writes it beside the private one`)
	}
	key, err := x509.ParsePKIXPublicKey(block.Bytes)
	if err != nil {
		return nil, fmt.Errorf("the public key can't be read: %w", err)
	}
	own, ok := key.(ed25519.PublicKey)
	if !ok {
		return nil, errors.New("a public key of another kind; expected Ed25519, as job key writes it")
	}
	return own, nil
}

package push

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math/big"
	"time"
)

var b64 = base64.RawURLEncoding

// Key is the key by which push services know a watch (VAPID, RFC 8292).
type Key struct {
	private *ecdsa.PrivateKey
	public  string
}

// NewKey makes a private key, as [ParseKey] reads it.
func NewKey() ([]byte, error) {
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	return k.Bytes()
}

// ParseKey reads a private key: the 32 bytes of its number on P-256.
func ParseKey(b []byte) (*Key, error) {
	k, err := ecdsa.ParseRawPrivateKey(elliptic.P256(), b)
	if err != nil {
		return nil, fmt.Errorf("the key for push services can't be read: %w", err)
	}
	public, err := k.PublicKey.Bytes()
	if err != nil {
		return nil, err
	}
	return &Key{k, b64.EncodeToString(public)}, nil
}

// Public is the public key, as a browser has to be given it (RFC 8292, 3.2).
func (k *Key) Public() string { return k.public }

// authorization is the field for a push service (RFC 8292, 3): a token (RFC 7519) signed
// with ES256 (RFC 7518, 3.4).
func (k *Key) authorization(origin, contact string, until time.Time) (string, error) {
	claims, err := json.Marshal(struct {
		Aud string `json:"aud"`
		Exp int64  `json:"exp"`
		Sub string `json:"sub"`
	}{origin, until.Unix(), contact})
	if err != nil {
		return "", err
	}
	signed := b64.EncodeToString([]byte(`{"typ":"JWT","alg":"ES256"}`)) + "." + b64.EncodeToString(claims)
	sum := sha256.Sum256([]byte(signed))
	r, s, err := ecdsa.Sign(rand.Reader, k.private, sum[:])
	if err != nil {
		return "", err
	}
	pair := make([]byte, 64)
	fill(pair[:32], r)
	fill(pair[32:], s)
	return "vapid t=" + signed + "." + b64.EncodeToString(pair) + ", k=" + k.public, nil
}

func fill(b []byte, n *big.Int) { n.FillBytes(b) }

package certificate

import (
	"crypto/sha256"
	"crypto/tls"
	"fmt"
	"log/slog"
	"os"
	"strings"
	"sync"
	"time"
)

// Pair is a certificate with its key, as it stands now. It may be asked by many
// at once.
type Pair struct {
	certificate, key string // files
	log              *slog.Logger
	now              func() time.Time
	renew            func(old *tls.Certificate) (bool, error) // where it is our own

	mu      sync.Mutex
	current *tls.Certificate
	stamps  [2]stamp
	looked  time.Time
}

// stamp tells whether a file has changed.
type stamp struct {
	size int64
	at   time.Time
}

// lookEvery is how often at most it is looked at whether the files have changed.
const lookEvery = 10 * time.Second

// Given gives the certificate in two files (PEM); they may be the same. Other
// files in their place are taken within seconds, without a new start; where they
// can't be used the certificate before stays.
func Given(certificate, key string, log *slog.Logger, now func() time.Time) (*Pair, error) {
	p := &Pair{certificate: certificate, key: key, log: log, now: now}
	if err := p.load(); err != nil {
		return nil, err
	}
	return p, nil
}

func stampOf(path string) stamp {
	info, err := os.Stat(path)
	if err != nil {
		return stamp{}
	}
	return stamp{info.Size(), info.ModTime()}
}

// load reads the files. The lock is held, or nobody else has the pair yet.
func (p *Pair) load() error {
	stamps := [2]stamp{stampOf(p.certificate), stampOf(p.key)}
	p.looked, p.stamps = p.now(), stamps // whether it can be used or not: it is told once
	c, err := tls.LoadX509KeyPair(p.certificate, p.key)
	if err != nil {
		return fmt.Errorf("the certificate %s with the key %s: %w", p.certificate, p.key, err)
	}
	p.current = &c
	return nil
}

// Get gives the certificate as it stands now.
func (p *Pair) Get() *tls.Certificate {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.now().Sub(p.looked).Abs() < lookEvery {
		return p.current
	}
	p.looked = p.now()
	if p.renew != nil {
		if made, err := p.renew(p.current); err != nil {
			p.log.Error("the certificate runs out and can't be renewed", "error", err)
		} else if made {
			p.log.Warn("the certificate was renewed; devices that trusted the one before ask again")
		}
	}
	if p.stamps == [2]stamp{stampOf(p.certificate), stampOf(p.key)} {
		return p.current
	}
	if err := p.load(); err != nil {
		p.log.Error("a new certificate can't be used; the one before stays", "error", err)
	} else {
		p.log.Info("a new certificate is used", "fingerprint", fingerprint(p.current))
	}
	return p.current
}

// Config is how TLS is spoken with it: 1.2 and 1.3, by key exchanges that a later
// loss of the key doesn't uncover, and by ciphers that authenticate what they
// encrypt (RFC 9325, 4.2). Go has neither compression nor renegotiation of a
// server.
func (p *Pair) Config(protocols ...string) *tls.Config {
	return &tls.Config{
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return p.Get(), nil },
		MinVersion:     tls.VersionTLS12,
		NextProtos:     protocols,
		CipherSuites: []uint16{
			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256, tls.TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256,
			tls.TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384, tls.TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384,
			tls.TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256, tls.TLS_ECDHE_RSA_WITH_CHACHA20_POLY1305_SHA256,
		},
	}
}

// Fingerprint is the SHA-256 of the certificate as browsers show it.
func (p *Pair) Fingerprint() string { return fingerprint(p.Get()) }

func fingerprint(c *tls.Certificate) string {
	sum := sha256.Sum256(c.Certificate[0])
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(parts, ":")
}

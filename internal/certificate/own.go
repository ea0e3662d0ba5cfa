package certificate

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/keep"
)

const (
	// ownLife is for how long a certificate is made: browsers take none for longer
	// than 398 days (CA/Browser Forum, Baseline Requirements, 6.3.2), and a day is left
	// for clocks that differ.
	ownLife = 397 * 24 * time.Hour
	// renewBefore is how long before its end another is made.
	renewBefore = 30 * 24 * time.Hour
	// clocksDiffer is how far a device's clock may be behind this machine's.
	clocksDiffer = 24 * time.Hour
)

// Beside gives the file of the own certificate that belongs to a data file:
// workshop.tls.pem beside workshop.db.
func Beside(data string) string {
	return strings.TrimSuffix(data, filepath.Ext(data)) + ".tls.pem"
}

// Own gives a certificate of this machine's own, in one file with its key. Where
// there is none it is made, and made again before it runs out. hosts are names of
// this machine besides those that it knows itself.
func Own(path string, hosts []string, log *slog.Logger, now func() time.Time) (*Pair, error) {
	p := &Pair{certificate: path, key: path, log: log, now: now}
	p.renew = func(old *tls.Certificate) (bool, error) {
		if old != nil && old.Leaf != nil && now().Before(old.Leaf.NotAfter.Add(-renewBefore)) && covers(old.Leaf, hosts) {
			return false, nil
		}
		return true, makeOwn(path, hosts, now())
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := makeOwn(path, hosts, now()); err != nil {
			return nil, err
		}
	case err != nil:
		return nil, fmt.Errorf("the certificate can't be looked at: %w", err)
	case runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0:
		return nil, fmt.Errorf("the certificate with its key, %s, can be read by others (permissions %#o); make it readable to its owner alone: chmod 600", path, info.Mode().Perm())
	}
	if err := p.load(); err != nil {
		return nil, fmt.Errorf("%w; move the file away and another is made", err)
	}
	if made, err := p.renew(p.current); err != nil {
		return nil, err
	} else if made {
		return p, p.load()
	}
	return p, nil
}

// covers says whether a certificate has all the names. Addresses come and go, and
// don't count.
func covers(c *x509.Certificate, hosts []string) bool {
	for _, h := range hosts {
		if net.ParseIP(h) == nil && c.VerifyHostname(h) != nil {
			return false
		}
	}
	return true
}

// makeOwn writes a new certificate with its key, whole or not at all.
func makeOwn(path string, hosts []string, now time.Time) error {
	text, err := selfSigned(namesOf(hosts), addressesOf(), now)
	if err == nil {
		err = keep.Private(path, text)
	}
	if err != nil {
		return fmt.Errorf("a certificate can't be made: %w", err)
	}
	return nil
}

// namesOf are the names by which this machine is reached.
func namesOf(hosts []string) []string {
	names := []string{"localhost"}
	if own, err := os.Hostname(); err == nil && own != "" {
		names = append(names, own)
		if !strings.Contains(own, ".") {
			names = append(names, own+".local")
		}
	}
	for _, h := range hosts {
		if net.ParseIP(h) == nil && h != "" {
			names = append(names, h)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// addressesOf are the addresses of this machine as they are now.
func addressesOf() []net.IP {
	list := []net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return list
	}
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() {
			list = append(list, n.IP)
		}
	}
	return list
}

// selfSigned makes a certificate for names and addresses that signs itself, with
// an ECDSA key on P-256, as PEM: first the certificate, then the key (PKCS #8).
func selfSigned(names []string, addresses []net.IP, now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	if err != nil {
		return nil, err
	}
	from := now.Add(-clocksDiffer)
	c := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Gaugewright"},
		NotBefore:    from, NotAfter: from.Add(ownLife),
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, // and no authority: it vouches for itself alone
		DNSNames:              names, IPAddresses: addresses,
	}
	if own, err := os.Hostname(); err == nil {
		c.Subject.OrganizationalUnit = []string{own[:min(len(own), 64)]} // RFC 5280, appendix A.1
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := pem.Encode(&b, &pem.Block{Type: "CERTIFICATE", Bytes: der}); err != nil {
		return nil, err
	}
	if err := pem.Encode(&b, &pem.Block{Type: "PRIVATE KEY", Bytes: private}); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

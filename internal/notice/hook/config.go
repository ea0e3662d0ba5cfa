package hook

import (
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"regexp"
	"strings"
)

// Config is an address that notices are posted to. docs/notices.md says each key.
type Config struct {
	URL string `toml:"url"`
	// Plain lets it be reached without TLS where it is another machine.
	Plain bool `toml:"plain"`
	// SecretFile has the shared secret in its first line, with which posts are signed;
	// it is read each time. KeyID is what the signature calls it; "": the name.
	SecretFile string `toml:"secret_file"`
	KeyID      string `toml:"key_id"`
	// TokenFile has a bearer token in its first line, for those who ask for one.
	TokenFile string   `toml:"token_file"`
	CA        string   `toml:"ca"`       // a file of certificates (PEM) to believe; "": those of this machine
	Language  string   `toml:"language"` // "": English
	Only      []string `toml:"only"`     // priorities; none: all
}

// leastSecret is how long a secret has to be, in bytes: as long as what HMAC makes of it
// would be best (RFC 2104, 3); half of that can't be guessed either.
const leastSecret = 16

var keyIDs = regexp.MustCompile(`^[A-Za-z0-9._/-]{1,100}$`)

func (c *Config) settle(name string) (to *url.URL, roots *x509.CertPool, err error) {
	var faults []error
	fault := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	to, err = url.Parse(c.URL)
	switch {
	case err != nil || to.Hostname() == "" || to.Scheme != "http" && to.Scheme != "https":
		fault(`url is %q; expected an address like "https://house.example.org/notices"`, c.URL)
		to = nil
	case to.User != nil:
		fault("url has a user in it, which would stand in the log; expected one without, and token_file besides where it is asked for")
	case to.Fragment != "":
		fault("url has a part after #, which no server gets; expected one without")
	case to.Scheme == "http" && !c.Plain && !loopback(to.Hostname()):
		fault("url begins with http://, and everybody on the way to %s could read and change what is told; expected https://, or plain = true besides", to.Hostname())
	}
	if c.KeyID == "" {
		c.KeyID = name
	}
	if !keyIDs.MatchString(c.KeyID) {
		fault("key_id is %q; expected letters, digits and . _ / - only", c.KeyID)
	}
	if c.SecretFile == "" {
		fault("secret_file isn't there; expected a file with a secret in its first line, which whoever gets the posts has as well")
	} else if _, err := c.secret(); err != nil {
		faults = append(faults, err)
	}
	if c.TokenFile != "" {
		if _, err := c.token(); err != nil {
			faults = append(faults, err)
		}
	}
	if c.CA != "" {
		pem, err := os.ReadFile(c.CA)
		if err != nil {
			fault("ca can't be read: %w", err)
		} else if roots = x509.NewCertPool(); !roots.AppendCertsFromPEM(pem) {
			fault("ca: %s has no certificate in PEM", c.CA)
		}
	}
	return to, roots, errors.Join(faults...)
}

func (c *Config) secret() ([]byte, error) {
	text, err := firstLine("secret_file", c.SecretFile)
	if err == nil && len(text) < leastSecret {
		err = fmt.Errorf("secret_file %s has %d bytes in its first line; expected %d or more", c.SecretFile, len(text), leastSecret)
	}
	return []byte(text), err
}

func (c *Config) token() (string, error) {
	text, err := firstLine("token_file", c.TokenFile)
	if err == nil && (text == "" || strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' })) {
		err = fmt.Errorf("token_file %s has no token in its first line; expected printable ASCII without spaces", c.TokenFile)
	}
	return text, err
}

func firstLine(key, path string) (string, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("%s can't be read: %w", key, err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	return strings.TrimSuffix(first, "\r"), nil
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

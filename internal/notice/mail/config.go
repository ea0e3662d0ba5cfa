package mail

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	netmail "net/mail"
	"os"
	"strings"
)

// Config is a server and those who get mail by it. docs/notices.md says each key.
type Config struct {
	Host string `toml:"host"`
	Port int    `toml:"port"` // 0: 587, with tls = "implicit" 465
	// TLS is "starttls" (""), "implicit", or "none", which is refused where the server is
	// another machine unless Plain is set.
	TLS   string `toml:"tls"`
	Plain bool   `toml:"plain"`
	CA    string `toml:"ca"` // a file of certificates (PEM) to believe; "": those of this machine
	// User is the name to log in with; "": none. The password is the first line of a
	// file, which is read each time.
	User         string   `toml:"user"`
	PasswordFile string   `toml:"password_file"`
	From         string   `toml:"from"`
	To           []string `toml:"to"`
	Language     string   `toml:"language"` // "": English
	Only         []string `toml:"only"`     // priorities; none: all
}

// The kinds of TLS.
const (
	startTLS = "starttls"
	implicit = "implicit"
	noTLS    = "none"
)

// Usual ports of submission (RFC 6409, RFC 8314).
const (
	submission  = 587
	submissions = 465
)

// settings is a configuration that was looked at.
type settings struct {
	Config
	from  netmail.Address
	to    []netmail.Address
	roots *x509.CertPool
}

func (c Config) settled() (s settings, err error) {
	var faults []error
	fault := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	if c.Host == "" || strings.ContainsAny(c.Host, " \t\r\n:/[]") {
		fault(`host is %q; expected the name of a mail server, like "mail.example.org"`, c.Host)
	}
	if c.TLS == "" {
		c.TLS = startTLS
	}
	usual := submission
	switch c.TLS {
	case startTLS:
	case implicit:
		usual = submissions
	case noTLS:
		if !c.Plain && !loopback(c.Host) {
			fault(`tls is "none", and everybody on the way to %s could read and change the mail; expected "starttls" or "implicit", or plain = true besides`, c.Host)
		}
		if c.User != "" && !loopback(c.Host) {
			fault(`tls is "none", and a user is given, whose password everybody on the way to %s could read; expected "starttls" or "implicit"`, c.Host)
		}
	default:
		fault(`tls is %q; expected "starttls", "implicit" or "none"`, c.TLS)
	}
	if c.Port == 0 {
		c.Port = usual
	}
	if c.Port < 1 || c.Port > 65535 {
		fault("port is %d; expected 1 to 65535", c.Port)
	}
	if (c.User == "") != (c.PasswordFile == "") {
		fault("of user and password_file only one is there; expected both, or neither")
	}
	s.Config = c
	if s.from, err = address(c.From); err != nil {
		fault("from: %w", err)
	}
	if len(c.To) == 0 {
		fault(`to is empty; expected addresses, like ["owner@example.org"]`)
	}
	for _, text := range c.To {
		a, err := address(text)
		if err != nil {
			fault("to: %w", err)
		}
		s.to = append(s.to, a)
	}
	if c.PasswordFile != "" {
		if _, err := c.password(); err != nil {
			faults = append(faults, err)
		}
	}
	if c.CA != "" {
		pem, err := os.ReadFile(c.CA)
		if err != nil {
			fault("ca can't be read: %w", err)
		} else if s.roots = x509.NewCertPool(); !s.roots.AppendCertsFromPEM(pem) {
			fault("ca: %s has no certificate in PEM", c.CA)
		}
	}
	return s, errors.Join(faults...)
}

// address reads one address, with or without a name. Letters beyond ASCII are for names
// alone: not every server takes others.
func address(text string) (netmail.Address, error) {
	a, err := netmail.ParseAddress(text)
	if err != nil || strings.ContainsAny(text, "\r\n\x00") || strings.ContainsFunc(a.Address, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return netmail.Address{}, fmt.Errorf(`%q is no address; expected one like "owner@example.org" or "Owner <owner@example.org>"`, text)
	}
	a.Name = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, a.Name)
	return *a, nil
}

// domain is what stands after the @ of an address.
func domain(a netmail.Address) string { return a.Address[strings.LastIndex(a.Address, "@")+1:] }

func (c Config) password() (string, error) {
	text, err := os.ReadFile(c.PasswordFile)
	if err != nil {
		return "", fmt.Errorf("password_file can't be read: %w", err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	if first = strings.TrimSuffix(first, "\r"); first == "" {
		return "", fmt.Errorf("password_file %s has an empty first line; expected the password there", c.PasswordFile)
	}
	return first, nil
}

func (s *settings) tls() *tls.Config {
	return &tls.Config{ServerName: s.Host, RootCAs: s.roots, MinVersion: tls.VersionTLS12}
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

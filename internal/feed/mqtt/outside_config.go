package mqtt

import (
	"cmp"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"math"
	"net/url"
	"os"
	"strings"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// settled is a configuration that has been looked at.
type settled struct {
	url       *url.URL
	port      string
	old       bool // MQTT 3.1.1
	clientID  string
	root      string
	user      string
	password  func() ([]byte, error)
	tls       *tls.Config // nil: no encryption
	expiry    time.Duration
	keepAlive time.Duration
	signal    func(string) watch.Signal
}

// ports are those of the schemes; encrypted says which of them are.
var (
	ports     = map[string]string{"mqtt": "1883", "mqtts": "8883", "ws": "80", "wss": "443"}
	encrypted = map[string]bool{"mqtts": true, "wss": true}
)

// settle looks at the configuration and fills in what is usual.
func (c OutsideConfig) settle(name string) (settled, error) {
	s := settled{root: cmp.Or(c.Root, Root), user: c.User, signal: c.Signal}
	if err := s.address(c.URL); err != nil {
		return s, err
	}
	switch c.Protocol {
	case "", "5":
	case "3.1.1":
		s.old = true
	default:
		return s, fmt.Errorf(`protocol is %q; expected "5" or "3.1.1"`, c.Protocol)
	}
	if err := checkTopic(s.root); err != nil || strings.HasPrefix(s.root, "/") || strings.HasSuffix(s.root, "/") {
		return s, fmt.Errorf(`root is %q; expected a topic like "gaugewright" or "van-7/tanks", without + and #`, c.Root)
	}
	if s.clientID = c.ClientID; s.clientID == "" {
		host, err := os.Hostname()
		if err != nil {
			return s, fmt.Errorf("this machine has no name (%w), so client_id can't be left out; expected a name of your own", err)
		}
		s.clientID = "gaugewright-" + host + "-" + strings.ReplaceAll(name, "/", "-")
	}
	if len(s.clientID) > 65535 || strings.ContainsRune(s.clientID, 0) {
		return s, fmt.Errorf("client_id is %.40q; expected a shorter name, without NUL", s.clientID)
	}
	var err error
	if s.password, err = c.secret(); err != nil {
		return s, err
	}
	if s.tls, err = c.certificates(s.url); err != nil {
		return s, err
	}
	if s.expiry, err = seconds("session_expiry", c.SessionExpiry, 24*time.Hour, math.MaxUint32-1); err != nil {
		return s, err
	}
	s.keepAlive, err = seconds("keep_alive", c.KeepAlive, 30*time.Second, math.MaxUint16)
	return s, err
}

// address reads the URL.
func (s *settled) address(text string) error {
	const expected = `expected one like "mqtt://192.0.2.7" or "mqtts://broker.example:8883"`
	if text == "" {
		return errors.New("url is missing; " + expected)
	}
	u, err := url.Parse(text)
	if err != nil {
		return fmt.Errorf("url can't be read (%w); %s", errors.Unwrap(err), expected)
	}
	switch {
	case ports[u.Scheme] == "":
		return fmt.Errorf("url begins with %q; expected mqtt, mqtts, ws or wss, as in \"mqtt://192.0.2.7\"", u.Scheme)
	case u.Hostname() == "":
		return fmt.Errorf("url is %q, without a host; %s", u.Redacted(), expected)
	case u.User != nil:
		return errors.New("url has a user in it; write user, and password_file or password_env, so that no password stands where it is shown")
	case !strings.HasPrefix(u.Scheme, "ws") && strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "":
		return fmt.Errorf("url is %q, with more than host and port; %s", text, expected)
	}
	s.url, s.port = u, cmp.Or(u.Port(), ports[u.Scheme])
	return nil
}

// secret gives what reads the password, nil where there is none.
func (c OutsideConfig) secret() (func() ([]byte, error), error) {
	var read func() ([]byte, error)
	switch {
	case c.PasswordFile != "" && c.PasswordEnv != "":
		return nil, errors.New("password_file and password_env are both there; expected one")
	case c.PasswordFile != "":
		read = func() ([]byte, error) {
			text, err := os.ReadFile(c.PasswordFile)
			if err != nil {
				return nil, fmt.Errorf("password_file can't be read: %w", err)
			}
			first, _, _ := strings.Cut(string(text), "\n")
			first = strings.TrimSuffix(first, "\r")
			if first == "" {
				return nil, fmt.Errorf("password_file %s has an empty first line; expected the password there", c.PasswordFile)
			}
			return []byte(first), nil
		}
	case c.PasswordEnv != "":
		read = func() ([]byte, error) {
			if v := os.Getenv(c.PasswordEnv); v != "" {
				return []byte(v), nil
			}
			return nil, fmt.Errorf("password_env names %s, which is empty or not set; expected the password in it", c.PasswordEnv)
		}
	default:
		return nil, nil
	}
	if c.User == "" {
		return nil, errors.New("a password is there without a user; expected both") // MQTT 3.1.1 forbids it: 3.1.2-22, from memory
	}
	_, err := read()
	return read, err
}

// certificates gives what is needed to encrypt, nil where nothing is encrypted.
func (c OutsideConfig) certificates(u *url.URL) (*tls.Config, error) {
	if !encrypted[u.Scheme] {
		if c.CA != "" || c.Cert != "" || c.Key != "" {
			return nil, fmt.Errorf("ca, cert or key is there, and url begins with %s, which encrypts nothing; expected mqtts or wss", u.Scheme)
		}
		return nil, nil
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12, ServerName: u.Hostname()}
	if c.CA != "" {
		text, err := os.ReadFile(c.CA)
		if err != nil {
			return nil, fmt.Errorf("ca can't be read: %w", err)
		}
		config.RootCAs = x509.NewCertPool()
		if !config.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("ca %s has no certificate; expected PEM, with BEGIN CERTIFICATE", c.CA)
		}
	}
	if (c.Cert == "") != (c.Key == "") {
		return nil, errors.New("of cert and key only one is there; expected both or none")
	}
	if c.Cert != "" {
		pair, err := tls.LoadX509KeyPair(c.Cert, c.Key)
		if err != nil {
			return nil, fmt.Errorf("cert and key can't be used: %w", err)
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// seconds gives a time that MQTT sends in whole seconds.
func seconds(key string, d feed.Duration, usual time.Duration, most uint32) (time.Duration, error) {
	v := time.Duration(d)
	if v == 0 {
		v = usual
	}
	if v < time.Second || v%time.Second != 0 || v/time.Second > time.Duration(most) {
		return 0, fmt.Errorf(`%s is %v; expected whole seconds, from "1s" to "%ds"`, key, v, most)
	}
	return v, nil
}

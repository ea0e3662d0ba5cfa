package mqtt

import (
	"cmp"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// Config is the broker inside. The zero value of a field is its usual value.
type Config struct {
	// Listen is where clients connect; "": "127.0.0.1:1883", "none": nowhere. Anything
	// but this machine itself needs users.
	Listen string `toml:"listen"`
	// TLSListen is where clients connect over TLS; "": nowhere. Certificate and Key
	// are its files (PEM); with SelfSigned a certificate is made.
	TLSListen   string `toml:"tls_listen"`
	Certificate string `toml:"certificate"`
	Key         string `toml:"key"`
	SelfSigned  bool   `toml:"self_signed"`
	// Root is the first part of all topics; "": "gaugewright".
	Root string `toml:"root"`
	// Users are those who may connect, with their passwords; none: anyone on this
	// machine. Passwords and readings go over the wire as they are: it is for a
	// network of one's own.
	Users map[string]string `toml:"users"`
	// Clients is how many may be connected at once; 0: 4,096.
	Clients int `toml:"clients"`

	// TLS is how it is spoken at TLSListen.
	TLS *tls.Config `toml:"-"`
	// Admit gives what the client may do whose password is a token; nil where the
	// password isn't one that lets in, and is then says whether it looks like one. Who
	// isn't admitted may be one of Users.
	Admit func(password []byte) (g Grant, is bool) `toml:"-"`
	// Guesses slows down who guesses passwords from other machines; nil: nothing does.
	Guesses Guesses `toml:"-"`
	// Signal says what a bare number measures in a tank; nil: ohms.
	Signal func(tank string) watch.Signal `toml:"-"`
	// Now is when a reading arrived, for those who watch by a clock of their own; nil:
	// this machine's.
	Now func() time.Time `toml:"-"`
}

// Usual values and limits of the broker.
const (
	usualListen  = "127.0.0.1:1883"
	usualClients = 4096
	// receiveMaximum is how many messages of one client may wait to be
	// acknowledged; one of MQTT 5 is told so.
	receiveMaximum = 512
	// most is the largest packet that is taken in: a payload, its topic, and
	// properties that nobody uses.
	most = feed.MaxPayload + 4096
	// sessionExpiry is for how long the session of a client is kept that has gone.
	sessionExpiry = 24 * 60 * 60 // s
)

// settle looks at the configuration and fills in what is usual.
func (c Config) settle() (Config, error) {
	c.Listen, c.Root, c.Clients = cmp.Or(c.Listen, usualListen), cmp.Or(c.Root, Root), cmp.Or(c.Clients, usualClients)
	if c.Listen != nowhere {
		_, port, err := net.SplitHostPort(c.Listen)
		if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n > 65535 {
			return c, fmt.Errorf(`listen is %q; expected an address with a port, like "127.0.0.1:1883"`, c.Listen)
		}
		if !local(c.Listen) && len(c.Users) == 0 {
			return c, fmt.Errorf(`listen is %q, which others than this machine reach, and there are no users; expected "127.0.0.1:%s", or at least one name with a password under users, or tls_listen, for which tokens do`, c.Listen, port)
		}
	}
	if err := c.settleTLS(); err != nil {
		return c, err
	}
	if err := checkTopic(c.Root); err != nil || strings.HasPrefix(c.Root, "/") || strings.HasSuffix(c.Root, "/") {
		return c, fmt.Errorf(`root is %q; expected a topic like "gaugewright" or "van-7/tanks", without + and #`, c.Root)
	}
	for name, password := range c.Users {
		if name == "" || len(password) < shortest {
			return c, fmt.Errorf("users has %q with a password of %d characters; expected a name, and a password of at least %d", name, len(password), shortest)
		}
	}
	if c.Clients < 1 {
		return c, fmt.Errorf("clients is %d; expected at least 1", c.Clients)
	}
	if c.Signal == nil {
		c.Signal = func(string) watch.Signal { return watch.Ohm }
	}
	return c, nil
}

// nowhere is what stands for no address.
const nowhere = "none"

// local says whether an address is one that this machine alone reaches.
func local(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	ip := net.ParseIP(host)
	return err == nil && (host == "localhost" || ip != nil && ip.IsLoopback())
}

// settleTLS looks at what is said of TLS.
func (c Config) settleTLS() error {
	if c.TLSListen == "" {
		if c.Certificate != "" || c.Key != "" || c.SelfSigned {
			return errors.New(`there is a certificate and no tls_listen; expected tls_listen, like ":8883"`)
		}
		if c.Listen == nowhere {
			return errors.New(`listen is "none" and there is no tls_listen; expected an address for at least one of them`)
		}
		return nil
	}
	_, port, err := net.SplitHostPort(c.TLSListen)
	if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n > 65535 {
		return fmt.Errorf(`tls_listen is %q; expected an address with a port, like ":8883"`, c.TLSListen)
	}
	if (c.Certificate == "") != (c.Key == "") || (c.Certificate == "") != c.SelfSigned {
		return errors.New("tls_listen needs a certificate; expected certificate and key, or self_signed = true and neither of them")
	}
	if !local(c.TLSListen) && len(c.Users) == 0 && c.Admit == nil {
		return fmt.Errorf("tls_listen is %q, which others than this machine reach, and nobody could be let in; expected users or tokens", c.TLSListen)
	}
	return nil
}

// shortest is how short a password may be.
const shortest = 8

package mqtt

import (
	"cmp"
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
	// Listen is where clients connect; "": "127.0.0.1:1883". Anything but this
	// machine itself needs users.
	Listen string `toml:"listen"`
	// Root is the first part of all topics; "": "gaugewright".
	Root string `toml:"root"`
	// Users are those who may connect, with their passwords; none: anyone on this
	// machine. Passwords and readings go over the wire as they are: it is for a
	// network of one's own.
	Users map[string]string `toml:"users"`
	// Clients is how many may be connected at once; 0: 4,096.
	Clients int `toml:"clients"`

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
	host, port, err := net.SplitHostPort(c.Listen)
	if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n > 65535 {
		return c, fmt.Errorf(`listen is %q; expected an address with a port, like "127.0.0.1:1883"`, c.Listen)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) && len(c.Users) == 0 {
		return c, fmt.Errorf(`listen is %q, which others than this machine reach, and there are no users; expected "127.0.0.1:%s", or at least one name with a password under users`, c.Listen, port)
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

// shortest is how short a password may be.
const shortest = 8

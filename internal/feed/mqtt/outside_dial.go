package mqtt

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/url"
	"strings"

	"github.com/eclipse/paho.golang/packets"
	paho3 "github.com/eclipse/paho.mqtt.golang"
)

// dial opens the network connection. Several goroutines may write to it.
func (s *settled) dial(ctx context.Context) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	at := net.JoinHostPort(s.url.Hostname(), s.port)
	switch {
	case strings.HasPrefix(s.url.Scheme, "ws"):
		u := *s.url
		u.Host = at
		return s.dialWeb(&u)
	case s.tls != nil:
		conn, err := (&tls.Dialer{Config: s.tls}).DialContext(ctx, "tcp", at)
		if err != nil {
			return nil, err
		}
		return packets.NewThreadSafeConn(conn), nil
	}
	return (&net.Dialer{}).DialContext(ctx, "tcp", at)
}

func (s *settled) dialWeb(u *url.URL) (net.Conn, error) {
	conn, err := paho3.NewWebsocket(u.String(), s.tls, patience, nil, nil)
	if err != nil {
		return nil, fmt.Errorf("no WebSocket at %s: %w", u.Redacted(), err)
	}
	return packets.NewThreadSafeConn(conn), nil
}

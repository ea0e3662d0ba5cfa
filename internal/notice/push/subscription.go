package push

import (
	"bytes"
	"crypto/ecdh"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"strings"
	"syscall"
)

// Subscription is one of a browser, as the browser gives it (PushSubscription.toJSON of
// the W3C's Push API).
type Subscription struct {
	Endpoint string `json:"endpoint"`
	Keys     struct {
		P256dh string `json:"p256dh"`
		Auth   string `json:"auth"`
	} `json:"keys"`

	to   *ecdh.PublicKey
	auth []byte
	at   *url.URL
}

// mostEndpoint is how long an endpoint may be, in bytes.
const mostEndpoint = 1000

// ParseSubscription reads a subscription and says what can't be used of it. Where
// private isn't set, an endpoint of this machine or of a network that isn't public is
// refused.
func ParseSubscription(text []byte, private bool) (*Subscription, error) {
	var s Subscription
	if err := json.NewDecoder(bytes.NewReader(text)).Decode(&s); err != nil {
		return nil, fmt.Errorf("the subscription can't be read as JSON: %w", err)
	}
	var err error
	s.at, err = url.Parse(s.Endpoint)
	if err != nil || len(s.Endpoint) > mostEndpoint || s.at.Hostname() == "" || s.at.User != nil || s.at.Fragment != "" {
		return nil, errors.New("the subscription has no endpoint that can be used; expected an address that begins with https://")
	}
	if s.at.Scheme != "https" && !(private && s.at.Scheme == "http" && loopback(s.at.Hostname())) {
		return nil, errors.New("the subscription's endpoint isn't reached over TLS; expected an address that begins with https://")
	}
	if !private && inside(s.at.Hostname()) {
		return nil, errors.New("the subscription's endpoint isn't on the public internet; set private = true in [push] where that is as it should be")
	}
	if s.auth, err = decode(s.Keys.Auth); err != nil || len(s.auth) != 16 {
		return nil, fmt.Errorf("the subscription's secret has %d bytes; expected 16 in base64url", len(s.auth))
	}
	public, err := decode(s.Keys.P256dh)
	if err == nil {
		s.to, err = ecdh.P256().NewPublicKey(public)
	}
	if err != nil {
		return nil, errors.New("the subscription's key is none of P-256 in base64url")
	}
	return &s, nil
}

// decode reads base64url, with or without padding.
func decode(text string) ([]byte, error) { return b64.DecodeString(strings.TrimRight(text, "=")) }

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// inside says of a host that it plainly isn't on the public internet.
func inside(host string) bool {
	host = strings.ToLower(strings.TrimSuffix(host, "."))
	if a, err := netip.ParseAddr(host); err == nil {
		return !public(a)
	}
	return !strings.Contains(host, ".") || strings.HasSuffix(host, ".localhost") || strings.HasSuffix(host, ".local") || strings.HasSuffix(host, ".internal") || strings.HasSuffix(host, ".home.arpa")
}

// Networks that aren't the public internet besides those that [netip.Addr] tells (IANA
// IPv4 and IPv6 Special-Purpose Address Registries).
var special = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"), netip.MustParsePrefix("100.64.0.0/10"), netip.MustParsePrefix("192.0.0.0/24"),
	netip.MustParsePrefix("192.0.2.0/24"), netip.MustParsePrefix("198.18.0.0/15"), netip.MustParsePrefix("198.51.100.0/24"),
	netip.MustParsePrefix("203.0.113.0/24"), netip.MustParsePrefix("240.0.0.0/4"),
	netip.MustParsePrefix("64:ff9b::/96"), netip.MustParsePrefix("64:ff9b:1::/48"), netip.MustParsePrefix("100::/64"),
	netip.MustParsePrefix("2001::/23"), netip.MustParsePrefix("2001:db8::/32"), netip.MustParsePrefix("2002::/16"), netip.MustParsePrefix("fec0::/10"),
}

// public says whether an address is one of the public internet.
func public(a netip.Addr) bool {
	a = a.Unmap().WithZone("")
	if !a.IsGlobalUnicast() || a.IsPrivate() {
		return false
	}
	for _, p := range special {
		if p.Contains(a) {
			return false
		}
	}
	return true
}

var errInside = errors.New("its name leads to an address that isn't on the public internet")

// outsideOnly refuses connections to what isn't the public internet, whatever the name
// was that led there.
func outsideOnly(_, address string, _ syscall.RawConn) error {
	a, err := netip.ParseAddrPort(address)
	if err != nil || !public(a.Addr()) {
		return errInside
	}
	return nil
}

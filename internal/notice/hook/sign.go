package hook

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"net/http"
	"strings"
	"time"
)

// digest is the value of Content-Digest for a content (RFC 9530, 2).
func digest(content []byte) string {
	sum := sha256.Sum256(content)
	return "sha-256=:" + base64.StdEncoding.EncodeToString(sum[:]) + ":"
}

// sign signs a request (RFC 9421): the components by their names, those with an @ being
// derived ones (2.2) and the others fields (2.1). It sets Signature-Input and Signature
// with the label.
func sign(r *http.Request, label string, components []string, created time.Time, keyID, alg string, key []byte) error {
	params := parameters(components, created, keyID, alg)
	base, err := signatureBase(r, components, params)
	if err != nil {
		return err
	}
	mac := hmac.New(sha256.New, key)
	_, _ = mac.Write([]byte(base)) // a sum never fails
	r.Header.Set("Signature-Input", label+"="+params)
	r.Header.Set("Signature", label+"=:"+base64.StdEncoding.EncodeToString(mac.Sum(nil))+":")
	return nil
}

// parameters writes what is covered and how (RFC 9421, 2.3), as a structured field
// (RFC 9651). The key's ID has neither quotes nor backslashes; see [Config].
func parameters(components []string, created time.Time, keyID, alg string) string {
	var b strings.Builder
	b.WriteByte('(')
	for i, c := range components {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(`"` + c + `"`)
	}
	fmt.Fprintf(&b, `);created=%d;keyid="%s"`, created.Unix(), keyID)
	if alg != "" {
		b.WriteString(`;alg="` + alg + `"`)
	}
	return b.String()
}

// signatureBase is what is signed (RFC 9421, 2.5).
func signatureBase(r *http.Request, components []string, params string) (string, error) {
	var b strings.Builder
	for _, c := range components {
		value, err := component(r, c)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "\"%s\": %s\n", c, value)
	}
	b.WriteString(`"@signature-params": ` + params)
	return b.String(), nil
}

func component(r *http.Request, name string) (string, error) {
	switch name {
	case "@method":
		return r.Method, nil
	case "@authority":
		host := strings.ToLower(r.Host)
		if host == "" {
			host = strings.ToLower(r.URL.Host)
		}
		if port := map[string]string{"http": ":80", "https": ":443"}[r.URL.Scheme]; port != "" {
			host = strings.TrimSuffix(host, port)
		}
		return host, nil
	case "@path":
		if p := r.URL.EscapedPath(); p != "" {
			return p, nil
		}
		return "/", nil
	case "@query":
		return "?" + r.URL.RawQuery, nil
	}
	values := r.Header.Values(name)
	if len(values) == 0 || strings.HasPrefix(name, "@") {
		return "", fmt.Errorf("nothing of the request is called %s", name)
	}
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = strings.TrimSpace(v)
	}
	return strings.Join(out, ", "), nil
}

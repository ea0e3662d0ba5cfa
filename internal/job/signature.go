package job

// Signature is somebody's word for a job file: an Ed25519 signature (RFC 8032) of
// the canonical JSON (RFC 8785) of the file without the signature's value.
type Signature struct {
	By    string `json:"by,omitempty"` // in the signer's own words
	Time  string `json:"time"`         // RFC 3339, in the signer's own words
	Key   string `json:"key"`          // the public key, 32 bytes in base64 (RFC 4648, section 4)
	Value string `json:"value"`        // 64 bytes in base64
}

// Seal is what became of a signature when its file was read.
type Seal int

const (
	Unsigned Seal = iota // there is none
	Sound                // it is that of the file as it stands
	Broken               // it isn't: the file was changed after it was signed
)

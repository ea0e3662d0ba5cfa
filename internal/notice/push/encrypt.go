package push

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
)

const (
	recordSize = 4096 // as RFC 8291, 4 asks for at the most
	saltSize   = 16
	tagSize    = 16
	// mostPlain is how much can be sent: what RFC 8030, 7.2 has every service take, less
	// the header, the tag and the delimiter.
	mostPlain = recordSize - (saltSize + 4 + 1 + 65) - tagSize - 1
)

// encrypt encrypts a message for a browser (RFC 8291, 3): its public key and secret are
// those of its subscription, the private key and the salt are to be new each time.
func encrypt(plain []byte, to *ecdh.PublicKey, auth []byte, from *ecdh.PrivateKey, salt []byte) ([]byte, error) {
	if len(plain) > mostPlain {
		return nil, fmt.Errorf("a message of %d bytes is too long for a push service; expected %d at the most", len(plain), mostPlain)
	}
	shared, err := from.ECDH(to)
	if err != nil {
		return nil, err
	}
	key, err := hkdf.Extract(sha256.New, shared, auth)
	if err != nil {
		return nil, err
	}
	info := "WebPush: info\x00" + string(to.Bytes()) + string(from.PublicKey().Bytes())
	secret, err := hkdf.Expand(sha256.New, key, info, sha256.Size)
	if err != nil {
		return nil, err
	}
	return code([][]byte{plain}, secret, salt, recordSize, from.PublicKey().Bytes())
}

// code codes a content in aes128gcm (RFC 8188, 2), a record for each part; all but the
// last are padded to the size of a record.
func code(parts [][]byte, secret, salt []byte, size uint32, keyID []byte) ([]byte, error) {
	prk, err := hkdf.Extract(sha256.New, secret, salt)
	if err != nil {
		return nil, err
	}
	key, err := hkdf.Expand(sha256.New, prk, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, err
	}
	nonce, err := hkdf.Expand(sha256.New, prk, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	out := append([]byte{}, salt...)
	out = binary.BigEndian.AppendUint32(out, size)
	out = append(append(out, byte(len(keyID))), keyID...)
	for i, part := range parts {
		own := append([]byte{}, nonce...)
		binary.BigEndian.PutUint64(own[4:], binary.BigEndian.Uint64(nonce[4:])^uint64(i)) // there are never 2⁶⁴
		record := append([]byte{}, part...)
		if i == len(parts)-1 {
			record = append(record, 2)
		} else {
			record = append(append(record, 1), make([]byte, int(size)-tagSize-len(part)-1)...)
		}
		out = gcm.Seal(out, own, record, nil)
	}
	return out, nil
}

package store

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
)

// What is wrong with a page token. All three satisfy
// errors.Is(err, ErrToken).
var (
	// ErrToken says that a page token can not be used. On its own it means that
	// the text is none of ours.
	ErrToken = errors.New("bad page token")
	// ErrTokenVersion says that another version of the service wrote it.
	ErrTokenVersion = fmt.Errorf("%w: unknown version", ErrToken)
	// ErrTokenFilter says that it continues a list with another filter.
	ErrTokenFilter = fmt.Errorf("%w: it belongs to another filter", ErrToken)
)

// A token is one character for the version, then unpadded base64url of
//
//	16 bytes  hash of the filter
//	 8 bytes  create time, microseconds, big endian
//	 1 to 64  id
const tokenVersion = '1'

var tokenEncoding = base64.RawURLEncoding.Strict()

// EncodeToken writes a cursor as a page token for lists with that filter. The
// token of the zero Cursor is "". Tokens are not secret and give no access:
// whoever lists is checked anew for every page.
func EncodeToken(c Cursor, filter Expr) string {
	if c.IsZero() {
		return ""
	}
	hash := filterHash(filter)
	payload := make([]byte, 0, len(hash)+8+len(c.id))
	payload = append(payload, hash[:]...)
	payload = binary.BigEndian.AppendUint64(payload, uint64(c.micros))
	payload = append(payload, c.id...)
	return string(tokenVersion) + tokenEncoding.EncodeToString(payload)
}

// DecodeToken reads what [EncodeToken] wrote for the same filter; "" is the zero
// Cursor. Any other text is [ErrToken], [ErrTokenVersion] or [ErrTokenFilter].
// Of a token with an unknown version nothing but the version is read. One
// cursor and filter have exactly one token.
func DecodeToken(token string, filter Expr) (Cursor, error) {
	if token == "" {
		return Cursor{}, nil
	}
	if token[0] != tokenVersion {
		return Cursor{}, fmt.Errorf("%w: got %.4q, wanted %q", ErrTokenVersion, token[:1], string(tokenVersion))
	}
	payload, err := tokenEncoding.DecodeString(token[1:])
	if err != nil || hasLineBreak(token) {
		return Cursor{}, fmt.Errorf("%w: not base64url", ErrToken)
	}
	if len(payload) < filterHashSize+8 {
		return Cursor{}, fmt.Errorf("%w: too short", ErrToken)
	}
	c := Cursor{
		micros: int64(binary.BigEndian.Uint64(payload[filterHashSize:])),
		id:     string(payload[filterHashSize+8:]),
	}
	if !ValidID(c.id) {
		return Cursor{}, fmt.Errorf("%w: no id in it", ErrToken)
	}
	if [filterHashSize]byte(payload) != filterHash(filter) {
		return Cursor{}, ErrTokenFilter
	}
	return c, nil
}

// hasLineBreak finds what package base64 skips without a word.
func hasLineBreak(s string) bool {
	for i := range len(s) {
		if s[i] == '\n' || s[i] == '\r' {
			return true
		}
	}
	return false
}

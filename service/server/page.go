package server

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
)

// defaultPageSize is that of every list, where the caller does not say.
const defaultPageSize = 50

func pageSize(asked int32) int {
	if asked == 0 {
		return defaultPageSize
	}
	return int(asked)
}

// A page token of the lists that are held in memory is one character for the
// version, then unpadded base64url of a hash of what is listed and the key of
// the last element of the page before.
const (
	pageTokenVersion  = '1'
	pageTokenHashSize = 12
)

var pageTokenEncoding = base64.RawURLEncoding.Strict()

func pageTokenHash(list string) [pageTokenHashSize]byte {
	sum := sha256.Sum256([]byte("snapgauge list 1\n" + list))
	return [pageTokenHashSize]byte(sum[:])
}

// encodePageToken writes where the next page of that list begins: after the
// element with that key.
func encodePageToken(list, after string) string {
	hash := pageTokenHash(list)
	return string(pageTokenVersion) + pageTokenEncoding.EncodeToString(append(hash[:], after...))
}

// decodePageToken reads what [encodePageToken] wrote for the same list; "" is
// the start.
func decodePageToken(list, token string) (after string, err error) {
	if token == "" {
		return "", nil
	}
	if token[0] != pageTokenVersion {
		return "", fmt.Errorf("unknown version: got %.4q, wanted %q", token[:1], string(pageTokenVersion))
	}
	payload, err := pageTokenEncoding.DecodeString(token[1:])
	if err != nil || len(payload) <= pageTokenHashSize {
		return "", errors.New("not a token of this service")
	}
	if [pageTokenHashSize]byte(payload) != pageTokenHash(list) {
		return "", errors.New("it belongs to another list or filter")
	}
	return string(payload[pageTokenHashSize:]), nil
}

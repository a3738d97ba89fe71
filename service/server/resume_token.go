package server

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
)

// A resume token is one character for the version, then unpadded base64url of
//
//	8 bytes  position of a change, big endian, from 1
//	8 bytes  what the change was, see [changeMark]
//
// It stands after that change. Callers keep tokens for as long as their copies,
// so a form that was given out is read by every later release. Tokens are not
// secret and give no access.
const (
	resumeTokenVersion = '1'
	changeMarkSize     = 8
)

var resumeTokenEncoding = base64.RawURLEncoding.Strict()

// resumePoint is the change that a token stands after. The zero resumePoint
// stands before the first change.
type resumePoint struct {
	position int64
	mark     [changeMarkSize]byte
}

// after says whether the token stands after that change. A database that was put
// back to an earlier state, or another one, has another change in the position:
// to go on there would leave a gap.
func (p resumePoint) after(c store.Change) bool {
	return p.position == c.Position && p.mark == changeMark(c)
}

// changeMark tells changes of one position apart. The form is frozen.
func changeMark(c store.Change) [changeMarkSize]byte {
	sum := sha256.Sum256(fmt.Appendf(nil, "snapgauge change 1\n%d %s %s %s %d",
		c.Position, c.Kind, c.Name(), c.Digest, c.RecordedTime.UnixMicro()))
	return [changeMarkSize]byte(sum[:])
}

// encodeResumeToken writes the token that stands after a change.
func encodeResumeToken(c store.Change) string {
	mark := changeMark(c)
	payload := binary.BigEndian.AppendUint64(nil, uint64(c.Position))
	return string(resumeTokenVersion) + resumeTokenEncoding.EncodeToString(append(payload, mark[:]...))
}

// decodeResumeToken reads what [encodeResumeToken] wrote; "" is the beginning.
// Of a token with an unknown version nothing but the version is read.
func decodeResumeToken(token string) (resumePoint, error) {
	if token == "" {
		return resumePoint{}, nil
	}
	if token[0] != resumeTokenVersion {
		return resumePoint{}, fmt.Errorf("unknown version: got %.4q, wanted %q", token[:1], string(resumeTokenVersion))
	}
	payload := make([]byte, 8+changeMarkSize)
	// Of another length it would be another token, or hold line breaks.
	if len(token) != 1+resumeTokenEncoding.EncodedLen(len(payload)) {
		return resumePoint{}, errors.New("not a token of this service")
	}
	if _, err := resumeTokenEncoding.Decode(payload, []byte(token[1:])); err != nil {
		return resumePoint{}, errors.New("not a token of this service")
	}
	p := resumePoint{position: int64(binary.BigEndian.Uint64(payload)), mark: [changeMarkSize]byte(payload[8:])}
	if p.position < 1 {
		return resumePoint{}, errors.New("not a token of this service")
	}
	return p, nil
}

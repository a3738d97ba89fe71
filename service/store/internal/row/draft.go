package row

import (
	"encoding/hex"
	"fmt"

	"github.com/snapgauge/snapgauge/service/store"
)

// Draft is a draft as columns.
type Draft struct {
	SpecID     string
	UpdateTime int64  // microseconds since 1970 UTC
	Digest     []byte // SHA-256 of Sheet
	Sheet      []byte // canonical form
}

// EncodeDraft makes the row of a draft and returns the draft as it will be
// stored. An error wraps [store.ErrInvalidSpec].
func EncodeDraft(d store.Draft) (Draft, store.Draft, error) {
	if err := d.Check(); err != nil {
		return Draft{}, store.Draft{}, err
	}
	canonical, digest, err := d.Describe()
	if err != nil {
		return Draft{}, store.Draft{}, err
	}
	sum, err := hex.DecodeString(digest)
	if err != nil {
		return Draft{}, store.Draft{}, err
	}
	return Draft{SpecID: d.SpecID, UpdateTime: d.UpdateTime.UnixMicro(), Digest: sum, Sheet: canonical}, d, nil
}

// Decode is the inverse of EncodeDraft. An error wraps [store.ErrCorrupt] where
// [DecodeSheet] says so.
func (d Draft) Decode() (store.Draft, error) {
	sheet, err := DecodeSheet(d.Sheet, d.Digest, d.SpecID)
	if err != nil {
		return store.Draft{}, fmt.Errorf("draft of %s: %w", store.SpecName(d.SpecID), err)
	}
	return store.Draft{
		SpecID: d.SpecID, Sheet: sheet, UpdateTime: Time(d.UpdateTime), Etag: DraftEtag(d.Digest),
	}, nil
}

// DraftEtag is the etag of the draft with that digest, nil meaning that there is
// none.
func DraftEtag(digest []byte) string {
	if len(digest) != 32 {
		return ""
	}
	return store.DraftEtag(hex.EncodeToString(digest))
}

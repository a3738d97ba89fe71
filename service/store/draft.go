package store

import (
	"crypto/sha256"
	"encoding/hex"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Draft is a sheet that is being worked on. It may be wrong in every way that a
// message can be: nothing is judged by it.
type Draft struct {
	// SpecID names the spec; the sheet says the same.
	SpecID string
	// Sheet is the sheet as far as it has come.
	Sheet *pb.SpecSheet
	// UpdateTime is when it was saved, in UTC, in whole microseconds.
	UpdateTime time.Time
	// Etag stands for the content: the same for the same sheet. It is opaque,
	// and ignored in what is to be saved.
	Etag string
}

// Check returns an error that wraps [ErrInvalidSpec] and names the first field
// that keeps d from being saved.
func (d Draft) Check() error {
	switch {
	case !ValidSpecID(d.SpecID):
		return badSpec("spec id", quote(d.SpecID), "words of a-z and 0-9 with hyphens between, at most 63 characters")
	case d.Sheet == nil:
		return badSpec("sheet", "none", "one")
	case d.Sheet.GetSpecId() != d.SpecID:
		return badSpec("spec_id", quote(d.Sheet.GetSpecId()), quote(d.SpecID)+" as the draft says")
	}
	return checkRecorded("update time", d.UpdateTime)
}

// Describe sets the etag and cuts the update time of a draft that passes Check.
// It returns the canonical form and the digest of the sheet. An error wraps
// [ErrInvalidSpec]: there is no canonical form. It is for stores.
func (d *Draft) Describe() (canonical []byte, digest string, err error) {
	canonical, digest, err = canonicalForm(d.Sheet)
	if err != nil {
		return nil, "", err
	}
	d.Etag = DraftEtag(digest)
	d.UpdateTime = wholeMicros(d.UpdateTime)
	return canonical, digest, nil
}

// DraftEtag returns the etag of the draft with that digest. It is for stores.
func DraftEtag(digest string) string { return "draft-" + digest[:32] }

func digestOf(canonical []byte) string {
	sum := sha256.Sum256(canonical)
	return hex.EncodeToString(sum[:])
}

package row_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"testing"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// TestSpecBytes sees that what is stored is the canonical form, whose digest
// anybody can compute.
func TestSpecBytes(t *testing.T) {
	t.Parallel()
	r, p, err := row.EncodeSpec(storetest.Revision(1, 2))
	if err != nil {
		t.Fatal(err)
	}
	canonical, err := spec.Canonical(storetest.Sheet(1, 2, 3))
	if err != nil {
		t.Fatal(err)
	}
	digest, err := spec.Digest(storetest.Sheet(1, 2, 3))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(r.Sheet, canonical) || p.Digest != digest {
		t.Errorf("got %s\nwith digest %s, wanted %s\nwith %s", r.Sheet, p.Digest, canonical, digest)
	}
	again, err := row.WithSheet(r.Published(1, nil, ""), r.Sheet, r.Digest)
	if err != nil || !proto.Equal(again.Sheet, storetest.Sheet(1, 2, 3)) || again.Digest != digest {
		t.Errorf("got %v, error %v", again, err)
	}
}

// TestSheetDamaged flips each bit of a sheet in turn.
func TestSheetDamaged(t *testing.T) {
	t.Parallel()
	r, _, err := row.EncodeSpec(storetest.Revision(1, 1))
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.Sheet {
		damaged := bytes.Clone(r.Sheet)
		damaged[i] ^= 1 << (i % 8)
		if sheet, err := row.DecodeSheet(damaged, r.Digest, r.SpecID); !errors.Is(err, store.ErrCorrupt) || sheet != nil {
			t.Fatalf("byte %d: got %v, wanted ErrCorrupt", i, err)
		}
	}
	if _, err := row.DecodeSheet(r.Sheet, nil, r.SpecID); !errors.Is(err, store.ErrCorrupt) {
		t.Errorf("no digest: got %v", err)
	}
}

// TestSheetOfLaterRelease reads a sound sheet with a field that is not known.
func TestSheetOfLaterRelease(t *testing.T) {
	t.Parallel()
	content := []byte(`{"fieldOfLater":true,"specId":"` + storetest.SpecID(1) + `"}`)
	digest := sha256.Sum256(content)
	_, err := row.DecodeSheet(content, digest[:], storetest.SpecID(1))
	if err == nil || errors.Is(err, store.ErrCorrupt) {
		t.Errorf("got %v, wanted an error that does not call it corrupt", err)
	}
}

package spec

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/gowebpki/jcs"
	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Canonical returns the one byte sequence that stands for a sheet: its proto
// JSON form (lowerCamelCase names, unset fields left out, enums by full name,
// time stamps in UTC) put into the canonical order and spelling of RFC 8785.
//
// Digests that were given out depend on it, so it never changes. Fields added
// to the contract later do not change the form of sheets that leave them unset.
// It fails only for a sheet that has no JSON form: strings that are not UTF-8,
// time stamps out of range.
func Canonical(sheet *pb.SpecSheet) ([]byte, error) {
	// The order and white space of protojson vary on purpose between builds;
	// the transformation removes both.
	form, err := protojson.Marshal(sheet)
	if err != nil {
		return nil, fmt.Errorf("spec sheet has no JSON form: %w", err)
	}
	canonical, err := jcs.Transform(form)
	if err != nil {
		return nil, fmt.Errorf("spec sheet has no canonical form: %w", err)
	}
	return canonical, nil
}

// Digest returns the SHA-256 of the [Canonical] form in small hexadecimal
// digits. It fails when Canonical does.
func Digest(sheet *pb.SpecSheet) (string, error) {
	canonical, err := Canonical(sheet)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(canonical)
	return hex.EncodeToString(sum[:]), nil
}

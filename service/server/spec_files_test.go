package server

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// tarnDerived is a file that makes a revision of the sheet of another.
func tarnDerived(base, revision int32, change func(*pb.DerivedSheet)) *pb.SheetFile {
	return derivedFile(func(d *pb.DerivedSheet) {
		d.BaseSpecId, d.BaseRevision, d.Head.Revision = tarn, base, revision
		d.Head.EffectiveTime = timestamppb.New(time.Date(2026, 5, int(revision), 0, 0, 0, 0, time.UTC))
		change(d)
	})
}

func sound(*pb.DerivedSheet) {}

// What is not published yet is checked together, in whatever order it is sent.
func TestCheckBesideAssumedFiles(t *testing.T) {
	b := newBench(t)
	first, second, third := wholeFile(tarnSheet(t, 1, unchanged)), tarnDerived(1, 2, sound), tarnDerived(2, 3, sound)
	for _, tc := range []struct {
		file    *pb.SheetFile
		assumed []*pb.SheetFile
	}{
		{first, nil},
		{second, []*pb.SheetFile{first}},
		{third, []*pb.SheetFile{first, second}},
		{third, []*pb.SheetFile{second, first}},
		{second, []*pb.SheetFile{third, first}},
		{wholeFile(tarnSheet(t, 2, func(s *pb.SpecSheet) { s.EffectiveTime = second.GetDerived().GetHead().GetEffectiveTime() })), []*pb.SheetFile{first}},
	} {
		req := &pb.PublishSpecRequest{File: tc.file, ValidateOnly: true, AssumedFiles: tc.assumed}
		resp, err := b.specs.PublishSpec(t.Context(), req)
		if err != nil || resp.GetCreated() || resp.GetSpecRevision().GetRevision() != keyOfFile(tc.file).number {
			t.Errorf("%s: got %v and %v", keyOfFile(tc.file), resp, err)
		}
	}
	_, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + tarn})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")

	// Foretold is what comes of it.
	foretold, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: second, ValidateOnly: true, AssumedFiles: []*pb.SheetFile{first}})
	if err != nil {
		t.Fatal(err)
	}
	etag := b.publish(t, first.GetSheet()).GetEtag()
	made, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: second, Etag: etag})
	if err != nil || made.GetSpecRevision().GetDigest() != foretold.GetSpecRevision().GetDigest() {
		t.Errorf("got %v and %v, want %v", made, err, foretold)
	}
	// A revision that is published by now hinders nobody who sends it along.
	req := &pb.PublishSpecRequest{File: third, Etag: made.GetSpecRevision().GetEtag(), ValidateOnly: true, AssumedFiles: []*pb.SheetFile{first, second}}
	if _, err := b.specs.PublishSpec(t.Context(), req); err != nil {
		t.Error(err)
	}
	_, err = b.specs.PublishSpec(t.Context(), changed(req, etag))
	wantStatus(t, err, codes.Aborted, reasonSpecChanged, "")
}

// What is wrong is told of the file that it is written in.
func TestCheckBesideWrongAssumedFiles(t *testing.T) {
	b := newBench(t)
	first := wholeFile(tarnSheet(t, 1, unchanged))
	wrong := wholeFile(tarnSheet(t, 1, func(s *pb.SpecSheet) { characteristic(s, "rear_axle_nut").Limits.Unit = "mm" }))
	uncompiled := wholeFile(tarnSheet(t, 1, func(s *pb.SpecSheet) { s.Rules[0].Expression = "chain_slack +" }))
	inverted := func(d *pb.DerivedSheet) { d.Amendment.Override[0].Limits.Lower = proto.Float64(41) }
	for name, tc := range map[string]struct {
		file    *pb.SheetFile
		assumed []*pb.SheetFile
		code    codes.Code
		reason  string
		want    []string // fields, all of them
	}{
		"base": {tarnDerived(1, 2, sound), []*pb.SheetFile{wrong}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[0].sheet.characteristics[0].limits.unit"}},
		"base's rule": {tarnDerived(1, 2, sound), []*pb.SheetFile{uncompiled}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[0].sheet.rules[0]"}},
		"derived": {tarnDerived(1, 2, inverted), []*pb.SheetFile{first}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"file.derived.amendment.override[0].limits"}},
		"both": {tarnDerived(1, 2, inverted), []*pb.SheetFile{wrong}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[0].sheet.characteristics[0].limits.unit", "file.derived.amendment.override[0].limits"}},
		"in the middle": {tarnDerived(2, 3, sound), []*pb.SheetFile{first, tarnDerived(1, 2, inverted)}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[1].derived.amendment.override[0].limits"}},
		"the one before": {wholeFile(tarnSheet(t, 3, unchanged)), []*pb.SheetFile{first, tarnDerived(1, 2, inverted)}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[1].derived.amendment.override[0].limits"}},
		"circle": {tarnDerived(3, 2, sound), []*pb.SheetFile{tarnDerived(2, 3, sound)}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[0].derived.base_spec_id"}},
		"circle beside": {tarnDerived(2, 4, sound), []*pb.SheetFile{tarnDerived(2, 3, sound), tarnDerived(3, 2, sound)}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"assumed_files[0].derived.base_spec_id"}},
		"itself":    {tarnDerived(2, 2, sound), []*pb.SheetFile{tarnDerived(2, 2, sound)}, codes.FailedPrecondition, reasonBaseNotFound, nil},
		"twice":     {tarnDerived(1, 2, sound), []*pb.SheetFile{first, first}, codes.InvalidArgument, reasonSheetInvalid, []string{"assumed_files[1]"}},
		"nothing":   {tarnDerived(1, 2, sound), []*pb.SheetFile{{}}, codes.FailedPrecondition, reasonBaseNotFound, nil},
		"left out":  {tarnDerived(1, 3, sound), []*pb.SheetFile{first}, codes.FailedPrecondition, reasonRevisionNumber, nil},
		"too early": {tarnDerived(1, 2, func(d *pb.DerivedSheet) { d.Head.EffectiveTime = timestamppb.New(time.Unix(0, 0)) }), []*pb.SheetFile{first}, codes.FailedPrecondition, reasonEffectiveTime, nil},
		"another machine": {tarnDerived(1, 2, func(d *pb.DerivedSheet) { d.Head.Make = "Other" }), []*pb.SheetFile{first}, codes.InvalidArgument, reasonSheetInvalid,
			[]string{"file.derived.head.make"}},
		"too many": {tarnDerived(1, 2, sound), make([]*pb.SheetFile, 17), codes.InvalidArgument, "repeated.max_items", []string{"assumed_files"}},
	} {
		t.Run(name, func(t *testing.T) {
			for i := range tc.assumed {
				if tc.assumed[i] == nil {
					tc.assumed[i] = &pb.SheetFile{}
				}
			}
			_, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: tc.file, ValidateOnly: true, AssumedFiles: tc.assumed})
			field := ""
			if len(tc.want) > 0 {
				field = tc.want[0]
			}
			wantStatus(t, err, tc.code, tc.reason, field)
			var got []string
			for _, d := range detailsOf(err) {
				if bad, ok := d.(*errdetails.BadRequest); ok {
					for _, v := range bad.GetFieldViolations() {
						if !slices.Contains(got, v.GetField()) {
							got = append(got, v.GetField())
						}
					}
				}
			}
			if fmt.Sprint(got) != fmt.Sprint(tc.want) {
				t.Errorf("got %v, want %v; %v", got, tc.want, err)
			}
		})
	}
	// A base that is missing is told of the file that names it.
	_, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{
		File: tarnDerived(2, 3, sound), ValidateOnly: true, AssumedFiles: []*pb.SheetFile{tarnDerived(1, 2, sound)}})
	if got := metadataOf(err)["field"]; got != "assumed_files[0].derived.base_spec_id" {
		t.Errorf("got field %q of %v", got, err)
	}
	// Nothing is published upon what is not.
	_, err = b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: tarnDerived(1, 2, sound), AssumedFiles: []*pb.SheetFile{first}})
	st := wantStatus(t, err, codes.InvalidArgument, reasonNotToPublish, "assumed_files")
	if !strings.Contains(st.Message(), "validate_only") {
		t.Errorf("got %q", st.Message())
	}
}

package main

import (
	"cmp"
	"context"
	"errors"

	"google.golang.org/grpc/codes"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// specFile is a spec sheet, whole or derived, as it was read.
type specFile struct {
	place
	sheet *pb.SheetFile
}

// readSpecFile reads a sheet from a file, or from standard input for "-". The
// error is always a *failure.
func (a *app) readSpecFile(file string) (*specFile, error) {
	f := &specFile{sheet: new(pb.SheetFile)}
	var err error
	if f.place, _, err = a.readDocument(file, "spec sheet", document.SheetMaxBytes, f.sheet); err != nil {
		return nil, err
	}
	f.root = "file"
	return f, nil
}

// ref is the revision that the sheet says it is. Its parts are empty where the
// sheet does not say.
func (f *specFile) ref() specRef {
	if d := f.sheet.GetDerived(); d != nil {
		head := d.GetHead()
		return specRef{cmp.Or(head.GetSpecId(), d.GetBaseSpecId()), cmp.Or(head.GetRevision(), d.GetBaseRevision())}
	}
	return specRef{f.sheet.GetSheet().GetSpecId(), f.sheet.GetSheet().GetRevision()}
}

// revisions asks for the revisions of the spec, newest first; none where it has
// none yet. Nor has a spec that cannot be: what is wrong with its name is told
// when the sheet is handed in. The error is a *failure.
func (f *specFile) revisions(ctx context.Context, c *client) ([]*pb.SpecRevision, error) {
	ref := f.ref()
	if ref.spec == "" {
		return nil, nil
	}
	all, err := listRevisions(ctx, c, f.place, ref)
	if bad := (*failure)(nil); errors.As(err, &bad) && (bad.status == codes.NotFound || bad.status == codes.InvalidArgument) {
		return nil, nil
	}
	return all, err
}

// publish hands the sheet in, on top of the newest revision there is unless an
// etag is given. The error is a *failure with the place of each fault.
func (f *specFile) publish(ctx context.Context, c *client, etag string, validateOnly bool) (*pb.PublishSpecResponse, error) {
	if etag == "" {
		revisions, err := f.revisions(ctx, c)
		if err != nil {
			return nil, err
		}
		if len(revisions) > 0 {
			etag = revisions[0].GetEtag()
		}
	}
	return call(ctx, c, f.place, c.specs.PublishSpec, &pb.PublishSpecRequest{File: f.sheet, Etag: etag, ValidateOnly: validateOnly})
}

// lint has the sheet checked as if it were to be published after those of the set
// that it needs. The error is a *failure with the place of each fault, in
// whatever file.
func (f *specFile) lint(ctx context.Context, c *client, set specSet) (*pb.PublishSpecResponse, error) {
	revisions, err := f.revisions(ctx, c)
	if err != nil {
		return nil, err
	}
	request := &pb.PublishSpecRequest{File: f.sheet, ValidateOnly: true}
	var newest int32
	if len(revisions) > 0 {
		newest, request.Etag = revisions[0].GetRevision(), revisions[0].GetEtag()
	}
	assumed, err := set.assumed(f, newest)
	if err != nil {
		return nil, err
	}
	p := f.place
	request.AssumedFiles, p.beside = beside(assumed)
	return call(ctx, c, p, c.specs.PublishSpec, request)
}

package server

import (
	"context"
	"slices"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// ListSpecs pages by identifier: a page begins after the last one of the page
// before, whatever has come or gone in between.
func (s *specService) ListSpecs(_ context.Context, req *pb.ListSpecsRequest) (*pb.ListSpecsResponse, error) {
	chosen, err := parseSpecFilter(req.GetFilter())
	if err != nil {
		return nil, badField("filter", reasonFilterInvalid, "%v", err)
	}
	list := "specs " + strings.TrimSpace(req.GetFilter())
	after, err := decodePageToken(list, req.GetPageToken())
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	library := s.judge.Catalogue().Library()
	ids := library.SpecIDs()
	if start, found := slices.BinarySearch(ids, after); found {
		ids = ids[start+1:]
	} else {
		ids = ids[start:]
	}
	resp := &pb.ListSpecsResponse{}
	size := pageSize(req.GetPageSize())
	last := ""
	for _, id := range ids {
		revisions, err := library.Revisions(id)
		if err != nil {
			return nil, err
		}
		if !chosen(revisions[0].Sheet()) {
			continue
		}
		if len(resp.Specs) == size {
			resp.NextPageToken = encodePageToken(list, last)
			break
		}
		one, err := specOf(library, id)
		if err != nil {
			return nil, err
		}
		resp.Specs = append(resp.Specs, one)
		last = id
	}
	return resp, nil
}

// ListSpecRevisions pages by number, downwards.
func (s *specService) ListSpecRevisions(_ context.Context, req *pb.ListSpecRevisionsRequest) (*pb.ListSpecRevisionsResponse, error) {
	specID, _, err := parseSpecName(req.GetParent())
	if err != nil {
		return nil, err
	}
	list := "revisions " + specID
	after, err := decodePageToken(list, req.GetPageToken())
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	revisions, err := s.judge.Catalogue().Library().Revisions(specID)
	if err != nil {
		return nil, err
	}
	if after != "" {
		number, err := strconv.Atoi(after)
		if err != nil {
			return nil, badField("page_token", reasonPageTokenInvalid, "not a token of this service")
		}
		for len(revisions) > 0 && revisions[0].Number() >= number {
			revisions = revisions[1:]
		}
	}
	resp := &pb.ListSpecRevisionsResponse{}
	if size := pageSize(req.GetPageSize()); len(revisions) > size {
		revisions = revisions[:size]
		resp.NextPageToken = encodePageToken(list, strconv.Itoa(revisions[size-1].Number()))
	}
	for _, r := range revisions {
		resp.SpecRevisions = append(resp.SpecRevisions, r.Proto())
	}
	return resp, nil
}

package server

import (
	"context"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// ListSpecs pages by identifier: a page begins after the last one of the page
// before, whatever has come or gone in between.
func (s *specService) ListSpecs(ctx context.Context, req *pb.ListSpecsRequest) (*pb.ListSpecsResponse, error) {
	chosen, err := parseFilter(specFilters, "filter", req.GetFilter())
	if err != nil {
		return nil, err
	}
	list := "specs " + strings.TrimSpace(req.GetFilter())
	after, err := decodePageToken(list, req.GetPageToken())
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	if err := s.sheets.currentAll(ctx); err != nil {
		return nil, err
	}
	resp := &pb.ListSpecsResponse{}
	size := pageSize(req.GetPageSize())
	last := ""
	for {
		heads := s.sheets.live.Heads(after, specStep)
		if len(heads) == 0 {
			return resp, nil
		}
		for _, head := range heads {
			after = head.SpecID
			if !specFields.Match(chosen, head) {
				continue
			}
			if len(resp.Specs) == size {
				resp.NextPageToken = encodePageToken(list, last)
				return resp, nil
			}
			resp.Specs = append(resp.Specs, specOf(head))
			last = head.SpecID
		}
	}
}

// specStep is how many specs are looked at together.
const specStep = 256

// ListSpecRevisions pages by number, downwards. A page ends early where it would
// be more than clients take.
func (s *specService) ListSpecRevisions(ctx context.Context, req *pb.ListSpecRevisionsRequest) (*pb.ListSpecRevisionsResponse, error) {
	specID, _, err := parseSpecName(req.GetParent())
	if err != nil {
		return nil, err
	}
	list := "revisions " + specID
	after, err := decodePageToken(list, req.GetPageToken())
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	if err := s.sheets.current(ctx, specID); err != nil {
		return nil, err
	}
	revisions, err := s.sheets.live.History(specID)
	if err != nil {
		return nil, err
	}
	if after != "" {
		number, err := strconv.Atoi(after)
		if err != nil {
			return nil, badField("page_token", reasonPageTokenInvalid, "not a token of this service")
		}
		for len(revisions) > 0 && revisions[0].Revision >= number {
			revisions = revisions[1:]
		}
	}
	resp := &pb.ListSpecRevisionsResponse{}
	size, room := pageSize(req.GetPageSize()), maxPageBytes
	for _, r := range revisions {
		one := revisionOf(r)
		room -= proto.Size(one) + 8
		if n := len(resp.SpecRevisions); n == size || n > 0 && room < 0 {
			resp.NextPageToken = encodePageToken(list, strconv.Itoa(r.Revision+1))
			break
		}
		resp.SpecRevisions = append(resp.SpecRevisions, one)
	}
	return resp, nil
}

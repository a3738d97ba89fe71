package server

import (
	"context"
	"errors"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// A page is shorter than asked for where it would otherwise be more than clients
// take, which is 4 MiB unless they say otherwise. They are taken from the
// store a few at a time, and more once it shows that they are small, so that a
// page of large ones does not fill memory before it is cut: a report can be large
// where its record is not.
const (
	maxPageBytes = 3 << 20
	firstStep    = 16
)

// ListSetups gives records without readings and instruments unless asked for
// more.
func (s *setupService) ListSetups(ctx context.Context, req *pb.ListSetupsRequest) (*pb.ListSetupsResponse, error) {
	chosen, err := parseFilter(filter.Setups, "filter", req.GetFilter())
	if err != nil {
		return nil, err
	}
	after, err := store.DecodeToken(req.GetPageToken(), chosen)
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	basic := req.GetView() != pb.SetupView_SETUP_VIEW_FULL
	resp := &pb.ListSetupsResponse{}
	room := maxPageBytes
	step := firstStep
	for left := pageSize(req.GetPageSize()); left > 0 && room > 0; {
		step = min(step, left)
		stored, next, err := s.store.List(ctx, store.Query{Filter: chosen, After: after, Limit: step, Basic: basic})
		if errors.Is(err, store.ErrInvalidQuery) {
			return nil, badField("filter", reasonFilterInvalid, "%v", err)
		}
		if err != nil {
			return nil, err
		}
		left -= len(stored)
		before := room
		for _, one := range stored {
			setup := setupOf(one, basic)
			room -= proto.Size(setup) + 8
			if room < 0 && len(resp.Setups) > 0 {
				next = after // which is not zero: something comes before this one
				break
			}
			resp.Setups = append(resp.Setups, setup)
			after = store.CursorAfter(one.CreateTime, one.ID)
		}
		after = next
		if next.IsZero() {
			break
		}
		if each := (before - room) / max(1, len(stored)); each > 0 {
			step = max(firstStep, room/each)
		}
	}
	resp.NextPageToken = store.EncodeToken(after, chosen)
	return resp, nil
}

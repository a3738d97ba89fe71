package server

import (
	"context"
	"errors"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// defaultAffectedPage is how many set-ups are judged for one page, where the
// caller does not say.
const defaultAffectedPage = 200

// ListAffectedSetups judges each stored set-up of the spec by the revision asked
// about, at its own finish time, and gives those of which the verdict or a
// finding differs from the stored report. A record that the revision cannot take
// at all has no verdict now. A withdrawn revision may be asked about as well: it
// judges nothing by this, nothing is stored.
//
// A page ends early where it would be more than clients take.
func (s *setupService) ListAffectedSetups(ctx context.Context, req *pb.ListAffectedSetupsRequest) (*pb.ListAffectedSetupsResponse, error) {
	specID, number, err := parseSpecName(req.GetSpecRevision())
	if err != nil {
		return nil, err
	}
	chosen, err := parseFilter(filter.Setups, "filter", req.GetFilter())
	if err != nil {
		return nil, err
	}
	looked := store.And{store.JudgedBy(specID, 0)}
	if chosen != nil {
		looked = append(looked, chosen)
	}
	// The token belongs to the list and to the revision that is asked about.
	list := append(store.And{store.JudgedBy(specID, number)}, looked...)
	after, err := store.DecodeToken(req.GetPageToken(), list)
	if err != nil {
		return nil, badField("page_token", reasonPageTokenInvalid, "%v", err)
	}
	if err := s.sheets.current(ctx, specID); err != nil {
		return nil, err
	}
	engine, err := s.sheets.live.Engine(ctx, specID, number)
	if err != nil {
		return nil, err
	}
	left := defaultAffectedPage
	if asked := int(req.GetPageSize()); asked > 0 {
		left = asked
	}
	resp := &pb.ListAffectedSetupsResponse{}
	room := maxPageBytes
	for left > 0 && room > 0 {
		stored, next, err := s.store.List(ctx, store.Query{Filter: looked, After: after, Limit: min(firstStep, left)})
		if errors.Is(err, store.ErrInvalidQuery) {
			return nil, badField("filter", reasonFilterInvalid, "%v", err)
		}
		if err != nil {
			return nil, err
		}
		left -= len(stored)
		for _, one := range stored {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			affected := affectedBy(engine, one, system(req.GetUnitSystem()))
			if affected != nil {
				room -= proto.Size(affected) + 8
				if room < 0 && len(resp.Affected) > 0 {
					next = after // which is not zero: something comes before this one
					break
				}
				resp.Affected = append(resp.Affected, affected)
			}
			resp.JudgedCount++
			after = store.CursorAfter(one.CreateTime, one.ID)
		}
		if after = next; after.IsZero() {
			break
		}
	}
	resp.NextPageToken = store.EncodeToken(after, list)
	return resp, nil
}

// affectedBy judges a stored set-up by another revision, and says what is
// otherwise; nil when nothing is.
func affectedBy(engine *gauge.Engine, stored store.Setup, units quantity.System) *pb.AffectedSetup {
	then := stored.Report
	// The same record, revision and time give the same report by the same engine.
	if then.GetDigest() == engine.Revision().Digest() && then.GetEngineVersion() == gauge.Version {
		return nil
	}
	now, _ := engine.Gauge(stored.Record, gauge.Options{AsOf: stored.Record.GetFinishTime().AsTime(), Units: units})
	// Without a report, there is no verdict; with an error of a rule, there is one.
	added, gone := compareFindings(then.GetFindings(), now.GetFindings())
	if then.GetVerdict() == now.GetVerdict() && len(added)+len(gone) == 0 {
		return nil
	}
	record := stored.Record
	affected := &pb.AffectedSetup{
		Name:         store.Name(stored.ID),
		Shop:         stored.Shop,
		Unit:         record.GetUnit(),
		Phase:        record.GetPhase(),
		VerdictThen:  then.GetVerdict(),
		VerdictNow:   now.GetVerdict(),
		NewFindings:  added,
		GoneFindings: gone,
	}
	if stored.SupersededBy != "" {
		affected.SupersededBy = store.Name(stored.SupersededBy)
	}
	return affected
}

// findingKey is what findings of two reports are matched by. Values and sentences
// may differ in findings that are the same fault.
type findingKey struct {
	code           pb.FindingCode
	characteristic string
	rule           string // where the finding is of a rule
}

func keyOf(f *pb.Finding) findingKey {
	return findingKey{f.GetCode(), f.GetCharacteristic(), f.GetRule()}
}

// compareFindings gives the findings that are new, whole, and those that are
// gone, by what they are matched by alone. Several of one key count each.
func compareFindings(then, now []*pb.Finding) (added, gone []*pb.Finding) {
	count := make(map[findingKey]int, len(then))
	for _, f := range then {
		count[keyOf(f)]++
	}
	for _, f := range now {
		if count[keyOf(f)]--; count[keyOf(f)] < 0 {
			added = append(added, f)
		}
	}
	for _, f := range then {
		if count[keyOf(f)] > 0 {
			count[keyOf(f)]--
			gone = append(gone, &pb.Finding{
				Code:           f.GetCode(),
				Characteristic: f.GetCharacteristic(),
				DisplayName:    f.GetDisplayName(),
				Rule:           f.GetRule(),
			})
		}
	}
	return added, gone
}

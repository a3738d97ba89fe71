package server

import (
	"errors"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
)

// specService answers from the live catalogue, and publishes through it. Its
// answers share messages with the sheets in use, which nobody modifies.
type specService struct {
	pb.UnimplementedSpecServiceServer
	sheets   *sheets
	store    store.SpecStore
	now      func() time.Time
	stopping <-chan struct{} // closed when streams are to end
}

// asOf is the instant that a request asks about: now unless it says otherwise.
func (s *specService) asOf(asked *timestamppb.Timestamp) time.Time {
	if asked == nil {
		return s.now().UTC()
	}
	return instantOf(asked)
}

// specOf describes a spec by its newest revision.
func specOf(newest *catalogue.Head) *pb.Spec {
	return &pb.Spec{
		Name:           store.SpecName(newest.SpecID),
		Make:           newest.Make,
		Model:          newest.Model,
		ModelYear:      int32(newest.ModelYear),
		Market:         newest.Market,
		Description:    newest.Description,
		Invented:       newest.Invented,
		LatestRevision: revisionOf(newest),
		ModelAliases:   newest.ModelAliases,
	}
}

// revisionOf shows a revision as it is now. The message is the caller's.
func revisionOf(h *catalogue.Head) *pb.SpecRevision {
	r := &pb.SpecRevision{
		Name:                h.Name(),
		Revision:            int32(h.Revision),
		Digest:              h.Digest,
		EffectiveTime:       timestamppb.New(h.EffectiveTime),
		ChangeNote:          h.ChangeNote,
		SourceDocument:      h.SourceDocument,
		CharacteristicCount: int32(h.CharacteristicCount),
		RecordTime:          timestamppb.New(h.RecordedTime),
		Etag:                h.Etag,
	}
	if h.Withdrawn != nil {
		r.WithdrawTime, r.WithdrawReason = timestamppb.New(*h.Withdrawn), h.WithdrawReason
	}
	return r
}

// parseSpecName reads specs/{spec} and specs/{spec}/revisions/{revision}, whose
// shape has been validated. Without a revision the number is nought.
func parseSpecName(name string) (specID string, number int, err error) {
	specID, revision, named := strings.Cut(strings.TrimPrefix(name, "specs/"), "/revisions/")
	if !named {
		return specID, 0, nil
	}
	number, err = strconv.Atoi(revision)
	if err != nil || number < 1 {
		return "", 0, errors.New("not the name of a revision: " + name)
	}
	return specID, number, nil
}

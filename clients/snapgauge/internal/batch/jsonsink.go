package batch

import (
	"bytes"
	"encoding/json"

	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// jsonSink writes each result as the API's own message in JSON, on one line. The
// place is not part of the message; the index tells which record it was.
type jsonSink struct {
	*packer
	loose []byte
	line  bytes.Buffer
}

func newJSONSink(out *Output, packed packing) (Sink, error) {
	p, err := newPacker(out, packed)
	if err != nil {
		return nil, err
	}
	return &jsonSink{packer: p}, nil
}

func (s *jsonSink) Write(result *pb.AuditResult, _ Place) (err error) {
	if s.loose, err = (protojson.MarshalOptions{}).MarshalAppend(s.loose[:0], result); err != nil {
		return s.fail(err)
	}
	// The encoder varies its blanks on purpose; here there are none.
	s.line.Reset()
	if err := json.Compact(&s.line, s.loose); err != nil {
		return s.fail(err)
	}
	s.line.WriteByte('\n')
	if _, err := s.packer.Write(s.line.Bytes()); err != nil {
		return s.fail(err)
	}
	return nil
}

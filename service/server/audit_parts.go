package server

import (
	"bytes"
	"crypto/sha256"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// checkpointPart is how much of a checkpoint or a report travels in a message.
const checkpointPart = 1 << 20

// parts gathers a checkpoint.
type parts struct {
	data  bytes.Buffer
	count int64
	begun bool
	done  bool
}

func (p *parts) add(part *pb.AuditCheckpoint) error {
	switch {
	case p.done:
		return badField("checkpoint", reasonCheckpoint, "got a part after the last one")
	case p.begun && part.GetRecordCount() != p.count:
		return badField("checkpoint.record_count", reasonCheckpoint, "got %d, wanted %d as in the part before", part.GetRecordCount(), p.count)
	case p.data.Len()+len(part.GetPart()) > audit.MaxCheckpoint:
		return badField("checkpoint.part", reasonCheckpoint, "got more than %d bytes in all", audit.MaxCheckpoint)
	}
	p.data.Write(part.GetPart())
	p.count, p.begun, p.done = part.GetRecordCount(), true, part.GetLast()
	return nil
}

// none reports whether there is no checkpoint; half of one is an error.
func (p *parts) none() (bool, error) {
	if p.begun && !p.done {
		return false, badField("checkpoint", reasonCheckpoint, "its last part is missing")
	}
	return !p.begun, nil
}

// restore makes the auditor that was saved, and gives the cursor with it.
func (p *parts) restore() (*audit.Auditor, string, error) {
	auditor, cursor, err := audit.Restore(p.data.Bytes(), gauge.Version)
	if err != nil {
		return nil, "", err
	}
	if p.count != auditor.Count() {
		return nil, "", badField("checkpoint.record_count", reasonCheckpoint,
			"got %d, and the state covers %d", p.count, auditor.Count())
	}
	return auditor, cursor, nil
}

// digest tells one checkpoint from another.
func (p *parts) digest() [sha256.Size]byte { return sha256.Sum256(p.data.Bytes()) }

// inParts gives data in pieces that a message can hold; at least one.
func inParts(data []byte, each func(part []byte, last bool) error) error {
	for {
		n := min(len(data), checkpointPart)
		if err := each(data[:n], n == len(data)); err != nil {
			return err
		}
		if data = data[n:]; len(data) == 0 {
			return nil
		}
	}
}

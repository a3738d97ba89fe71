package batch

import (
	"github.com/parquet-go/parquet-go"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// resultsInGroup is how many results a row group has. It is held until it is
// full, in some megabytes.
const resultsInGroup = 8192

// parquetSink writes each result as a row of a flat file.
type parquetSink struct {
	out    *Output
	writer *parquet.GenericWriter[flatResult]
	batch  []flatResult
}

func newParquetSink(out *Output) Sink {
	return &parquetSink{
		out:   out,
		batch: make([]flatResult, 0, rowsAtOnce),
		writer: parquet.NewGenericWriter[flatResult](out,
			parquet.Compression(&parquet.Zstd),
			parquet.MaxRowsPerRowGroup(resultsInGroup),
			// Else the library's own version stood in the file, and with another the
			// same results were other bytes.
			parquet.CreatedBy("snapgauge", "1", "")),
	}
}

func (s *parquetSink) Write(result *pb.AuditResult, place Place) error {
	s.batch = append(s.batch, flatten(result, place))
	if len(s.batch) < cap(s.batch) {
		return nil
	}
	if err := s.flush(); err != nil {
		return outputError(s.out.name, err)
	}
	return nil
}

func (s *parquetSink) flush() error {
	return guard(func() error {
		_, err := s.writer.Write(s.batch)
		clear(s.batch)
		s.batch = s.batch[:0]
		return err
	})
}

func (s *parquetSink) Close() error {
	if s.out.done {
		return nil
	}
	err := s.flush()
	if err == nil {
		err = guard(s.writer.Close)
	}
	return s.out.finish(err)
}

func (s *parquetSink) Discard() { s.out.Discard() }

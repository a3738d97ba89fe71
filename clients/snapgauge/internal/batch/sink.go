package batch

import (
	"io"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Sink takes the results of an audit and writes them to a file. The same results
// give the same bytes.
//
// After an error of Write nothing more is to be expected of it; call Discard. One
// goroutine at a time may use it.
type Sink interface {
	// Write adds a result, and the place of its record.
	Write(result *pb.AuditResult, place Place) error
	// Close puts the file where it belongs. Until then nothing is there, or what
	// was there before. On an error it discards.
	Close() error
	// Discard removes what was written. After Close it does nothing, so that it
	// can be deferred.
	Discard()
}

// CreateOptions say how to write a file.
type CreateOptions struct {
	// Format is one of [Formats]; empty means that the name of the file says it.
	Format string
}

// Create begins a file of this name, or writes to out where the name is "-".
// A file that is there is replaced when the sink is closed, not before.
//
// The error names the file.
func Create(name string, out io.Writer, opt CreateOptions) (Sink, error) {
	shown := name
	if name == "-" {
		shown = standardOutput
	}
	f, packed, err := formatOf(name, opt.Format)
	if err != nil {
		return nil, outputError(shown, err)
	}
	if f == formatParquet && packed != packingNone {
		return nil, outputError(shown, errParquetPacked)
	}
	file := &Output{name: shown, to: out}
	if name != "-" {
		if file, err = CreateOutput(name); err != nil {
			return nil, err
		}
	}
	var s Sink
	switch f {
	case formatParquet:
		s = newParquetSink(file)
	case formatCSV:
		s, err = newCSVSink(file, packed)
	default:
		s, err = newJSONSink(file, packed)
	}
	if err != nil {
		file.Discard()
		return nil, outputError(shown, err)
	}
	return s, nil
}

package batch

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"time"

	"github.com/parquet-go/parquet-go"
	thrift "github.com/parquet-go/parquet-go/format"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
)

// cellOf tells how the values of a column of a Parquet file are read.
func cellOf(leaf parquet.Node) (func(parquet.Value) columns.Cell, error) {
	t := leaf.Type()
	if logical := t.LogicalType(); logical != nil {
		switch l := logical.Value.(type) {
		case *thrift.TimestampType:
			if l.Unit.Value == nil {
				return nil, errors.New("has times in an unknown unit, which are not read")
			}
			unit := l.Unit.Value.Duration()
			if l.IsAdjustedToUTC {
				return func(v parquet.Value) columns.Cell { return columns.Instant(since1970(v.Int64(), unit)) }, nil
			}
			return func(v parquet.Value) columns.Cell { return columns.LocalTime(since1970(v.Int64(), unit)) }, nil
		case *thrift.DateType:
			return func(v parquet.Value) columns.Cell {
				return columns.LocalTime(time.Unix(int64(v.Int32())*86400, 0).UTC())
			}, nil
		case *thrift.DecimalType:
			return decimalCell(t.Kind(), int(l.Scale))
		}
	}
	switch t.Kind() {
	case parquet.Boolean:
		return func(v parquet.Value) columns.Cell { return columns.Truth(v.Boolean()) }, nil
	case parquet.Int32:
		return func(v parquet.Value) columns.Cell { return columns.Number(float64(v.Int32())) }, nil
	case parquet.Int64:
		return func(v parquet.Value) columns.Cell { return columns.Number(float64(v.Int64())) }, nil
	case parquet.Float:
		// A single has no more digits than it shows: 0.1 is not 0.10000000149.
		return func(v parquet.Value) columns.Cell { return columns.Number(shortest(v.Float())) }, nil
	case parquet.Double:
		return func(v parquet.Value) columns.Cell { return columns.Number(v.Double()) }, nil
	case parquet.Int96:
		return func(v parquet.Value) columns.Cell { return columns.Instant(int96(v)) }, nil
	case parquet.ByteArray:
		return func(v parquet.Value) columns.Cell { return columns.Text(string(v.ByteArray())) }, nil
	}
	return nil, fmt.Errorf("is of the type %s, which is not read", t)
}

func isDecimal(leaf parquet.Node) bool {
	logical := leaf.Type().LogicalType()
	if logical == nil {
		return false
	}
	_, ok := logical.Value.(*thrift.DecimalType)
	return ok
}

func shortest(x float32) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(float64(x), 'g', -1, 32), 64) // what was formatted can be parsed
	return y
}

func since1970(n int64, unit time.Duration) time.Time {
	perSecond := int64(time.Second / unit)
	seconds, rest := n/perSecond, n%perSecond
	return time.Unix(seconds, rest*int64(unit)).UTC()
}

// int96 is how older programs write times: nanoseconds of the day, and the day
// by its Julian number.
func int96(v parquet.Value) time.Time {
	i := v.Int96()
	const epoch = 2440588 // Julian number of 1970-01-01
	nanos := int64(i[1])<<32 | int64(i[0])
	return time.Unix((int64(i[2])-epoch)*86400, nanos).UTC()
}

func decimalCell(kind parquet.Kind, scale int) (func(parquet.Value) columns.Cell, error) {
	unscaled := func(v parquet.Value) float64 {
		switch kind {
		case parquet.Int32:
			return float64(v.Int32())
		case parquet.Int64:
			return float64(v.Int64())
		}
		// Two's complement, its first byte first.
		n := new(big.Int).SetBytes(v.ByteArray())
		if b := v.ByteArray(); len(b) > 0 && b[0] >= 0x80 {
			n.Sub(n, new(big.Int).Lsh(big.NewInt(1), uint(8*len(b))))
		}
		x, _ := new(big.Float).SetInt(n).Float64()
		return x
	}
	if scale < 0 || scale > 38 {
		return nil, fmt.Errorf("is a decimal with the scale %d, which is not read", scale)
	}
	factor := math.Pow10(scale)
	return func(v parquet.Value) columns.Cell { return columns.Number(unscaled(v) / factor) }, nil
}

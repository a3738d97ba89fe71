package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
)

// statements are what the writer says to the database. They belong to one
// connection and one goroutine.
type statements struct {
	beginStmt, commitStmt, rollbackStmt *sql.Stmt
	byRequest, successor, byID          *sql.Stmt
	insertSetup, insertSupersession     *sql.Stmt

	specs specStatements

	all []*sql.Stmt
}

// statementText says what to prepare for a statement.
type statementText struct {
	stmt **sql.Stmt
	text string
}

func prepare(ctx context.Context, conn *sql.Conn) (_ *statements, err error) {
	s := new(statements)
	for _, p := range append(s.specs.texts(), []statementText{
		// IMMEDIATE: what is read before the first write must still hold then.
		{&s.beginStmt, `BEGIN IMMEDIATE`},
		{&s.commitStmt, `COMMIT`},
		{&s.rollbackStmt, `ROLLBACK`},
		{&s.byRequest, `SELECT id, record_digest FROM setups WHERE shop = ? AND request_id = ?`},
		{&s.byID, `SELECT 1 FROM setups WHERE id = ?`},
		{&s.successor, `SELECT x.new_id FROM setups s LEFT JOIN supersession x ON x.old_id = s.id WHERE s.id = ? AND s.shop = ?`},
		{&s.insertSetup, `INSERT INTO setups (id, request_id, shop, create_time, technician, vin, model, model_year,
			market, phase, verdict, spec_revision, finish_time, record_digest, report, record)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`},
		{&s.insertSupersession, `INSERT INTO supersession (old_id, new_id) VALUES (?, ?)`},
	}...) {
		if *p.stmt, err = conn.PrepareContext(ctx, p.text); err != nil {
			return nil, errors.Join(fmt.Errorf("prepare %.40q: %w", p.text, err), s.close())
		}
		s.all = append(s.all, *p.stmt)
	}
	return s, nil
}

func (s *statements) close() error {
	var errs []error
	for _, stmt := range s.all {
		errs = append(errs, stmt.Close())
	}
	return errors.Join(errs...)
}

func (s *statements) begin() error  { return execute(s.beginStmt) }
func (s *statements) commit() error { return execute(s.commitStmt) }

// rollback ends the transaction where there still is one: SQLite itself rolls
// back after some errors, such as a full disk.
func (s *statements) rollback() error {
	err := execute(s.rollbackStmt)
	if e := (*sqlite.Error)(nil); errors.As(err, &e) && e.Code() == sqlite3.SQLITE_ERROR {
		return nil // no transaction is active
	}
	return err
}

func execute(stmt *sql.Stmt, args ...any) error {
	_, err := stmt.Exec(args...)
	return err
}

// store does one submit inside the transaction. A refusal is in the result and
// has written nothing; after an error the transaction must be rolled back.
func (s *statements) store(r *row.Row) (result, error) {
	var (
		id     string
		digest sql.RawBytes
	)
	rows, err := s.byRequest.Query(r.Shop, r.RequestID)
	if err != nil {
		return result{}, fmt.Errorf("look up request: %w", err)
	}
	found := rows.Next()
	same := false
	if found {
		err = rows.Scan(&id, &digest)
		same = string(digest) == string(r.RecordDigest[:])
	}
	if err := errors.Join(err, rows.Err(), rows.Close()); err != nil {
		return result{}, fmt.Errorf("look up request: %w", err)
	}
	if found {
		return result{earlier: id, same: same}, nil
	}

	if r.Supersedes != "" {
		var successor sql.NullString
		err := s.successor.QueryRow(r.Supersedes, r.Shop).Scan(&successor)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return result{err: fmt.Errorf("%w: %s", store.ErrSupersedesMissing, store.Name(r.Supersedes))}, nil
		case err != nil:
			return result{}, fmt.Errorf("look up superseded: %w", err)
		case successor.Valid:
			return result{err: fmt.Errorf("%w: %s, by %s",
				store.ErrAlreadySuperseded, store.Name(r.Supersedes), store.Name(successor.String))}, nil
		}
	}

	err = execute(s.insertSetup, r.ID, r.RequestID, r.Shop, r.CreateTime, r.Technician, r.VIN, r.Model, r.ModelYear,
		r.Market, r.Phase, r.Verdict, r.SpecRevision, r.FinishTime, r.RecordDigest[:], r.Report, r.Record)
	if err != nil {
		// A refused row undoes itself and leaves the transaction as it was.
		if isConstraint(err) && s.byID.QueryRow(r.ID).Scan(new(int)) == nil {
			return result{err: fmt.Errorf("%w: %s", store.ErrIDTaken, r.ID)}, nil
		}
		return result{}, fmt.Errorf("insert setup: %w", err)
	}
	if r.Supersedes != "" {
		if err := execute(s.insertSupersession, r.Supersedes, r.ID); err != nil {
			return result{}, fmt.Errorf("insert supersession: %w", err)
		}
	}
	return result{}, nil
}

func isConstraint(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_CONSTRAINT
}

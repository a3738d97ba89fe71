package postgres

import (
	"context"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// What is set where the connection string does not say otherwise.
const (
	connectTimeout = 10 * time.Second
	maxConnections = 16 // pool_max_conns
)

// parameters are those of every session. A statement that takes longer, or waits
// longer for a lock, fails; so does a transaction that its process has forgotten.
var parameters = map[string]string{
	"application_name":                    "snapgauge",
	"statement_timeout":                   "30s",
	"lock_timeout":                        "15s",
	"idle_in_transaction_session_timeout": "10s", // before those who wait for its locks give up
}

// configure reads a connection string.
func configure(dsn string) (*pgxpool.Config, error) {
	cfg, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		return nil, err
	}
	if cfg.ConnConfig.ConnectTimeout == 0 {
		cfg.ConnConfig.ConnectTimeout = connectTimeout
	}
	if !strings.Contains(dsn, "pool_max_conns") {
		cfg.MaxConns = maxConnections
	}
	for name, value := range parameters {
		if _, ok := cfg.ConnConfig.RuntimeParams[name]; !ok {
			cfg.ConnConfig.RuntimeParams[name] = value
		}
	}
	cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
		_, err := conn.Exec(ctx, `SELECT set_config('synchronous_commit', 'on', false)
			WHERE current_setting('synchronous_commit') = 'off'`)
		return err
	}
	return cfg, nil
}

// withoutLimits is a configuration for work that may take long.
func withoutLimits(cfg *pgx.ConnConfig) *pgx.ConnConfig {
	cfg = cfg.Copy()
	for _, name := range []string{"statement_timeout", "lock_timeout", "idle_in_transaction_session_timeout"} {
		cfg.RuntimeParams[name] = "0"
	}
	return cfg
}

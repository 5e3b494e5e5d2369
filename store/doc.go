// Package store keeps events in SQLite or Postgres behind [app.Store]. One set of SQL texts serves both; only the tables differ.
//
// SQLite: write-ahead log, synchronous FULL, foreign keys, one writer and several readers; the pragmas are read back
// when a file is opened, and with others it refuses to run. Events are append-only, enforced by triggers in both
// engines. Before a migration an existing file is copied beside itself with the date; a database newer than the
// program is refused. The tables that lists need are changed in the same transaction as the log and can be rebuilt
// from it.
//
// It holds no rules of the trade.
package store

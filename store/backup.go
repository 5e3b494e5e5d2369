package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"

	"coldwright/fail"
)

// FileName is the database of a data folder.
const FileName = "coldwright.db"

// Backup writes the database of a folder to one file, also while another process serves from it: a snapshot of one
// moment, checked and then put in place whole. What was acknowledged before Backup was called is in it.
//
//   - in: dir, the data folder; out, the file to write. One that is there is replaced once the new one is whole
//   - errors: [*fail.Error] when there is no database in the folder or it is damaged; the disk fails
//   - cost: reads and writes the database once
func Backup(ctx context.Context, dir, out string) (err error) {
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); err != nil {
		return fail.Of(fail.NotFound, "data", "backup.none", fail.Args{"folder": dir})
	}
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_pragma=busy_timeout(5000)")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	// The folder of the new file, so that putting it in place is one step.
	work, err := os.MkdirTemp(filepath.Dir(out), ".coldwright-backup-")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	made := filepath.Join(work, "copy.db")
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", made); err != nil {
		return damaged("the database", err)
	}
	if _, err := check(ctx, made); err != nil {
		return err
	}
	return place(made, out)
}

// Restore puts a backup into a data folder: the file is checked, copied beside its place and put there in one step. A
// database that was there is kept beside it under a name with the date.
//
//   - in: file, a backup; dir, the data folder, made when it is not there; force, to restore into a folder that is not empty
//   - errors: [*fail.Error] when the file is no backup, is damaged or newer than this program; when the folder is not
//     empty; when its database is in use
//   - cost: reads and writes the backup once
func Restore(ctx context.Context, file, dir string, force bool) (err error) {
	if _, err := os.Stat(file); err != nil {
		return fail.Of(fail.NotFound, "", "backup.cannot_read", fail.Args{"file": file})
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	there, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if len(there) > 0 && !force {
		return fail.Of(fail.Conflict, "data", "backup.not_empty",
			fail.Args{"folder": dir, "force": fail.Setting("force")})
	}
	work, err := os.MkdirTemp(dir, ".coldwright-restore-")
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	made := filepath.Join(work, "copy.db")
	if err := copyFile(file, made); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	version, err := check(ctx, made)
	if err != nil {
		return err
	}
	if known, err := newest(); err != nil {
		return err
	} else if version > known {
		return fail.Of(fail.BadData, "", "backup.newer", fail.Args{"version": version, "known": known})
	}
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); err == nil {
		if err := setAside(ctx, path); err != nil {
			return err
		}
	}
	return place(made, path)
}

// check opens a copy and returns the version of its tables.
func check(ctx context.Context, path string) (version int64, err error) {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=ro&immutable=1")
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var ok string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&ok); err != nil {
		return 0, damaged("the file", err)
	}
	if ok != "ok" {
		return 0, damaged("the file", errors.New(ok))
	}
	if err := db.QueryRowContext(ctx, "SELECT COALESCE(MAX(version_id), 0) FROM goose_db_version WHERE is_applied").
		Scan(&version); err != nil {
		return 0, fail.Of(fail.BadData, "", "backup.no_database", nil)
	}
	return version, nil
}

func damaged(what string, err error) error {
	return fail.Of(fail.BadData, "", "backup.damaged", fail.Args{"file": what, "why": err})
}

// newest is the version of the tables this program knows.
func newest() (int64, error) {
	files, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		return 0, err
	}
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return 0, err
	}
	last := int64(0)
	for _, n := range names {
		v, err := goose.NumericComponent(n)
		if err != nil {
			return 0, fmt.Errorf("migrations: %w", err)
		}
		last = max(last, v)
	}
	return last, nil
}

// isBusy reports that somebody else holds a lock on the file.
func isBusy(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && (e.Code()&0xff == busy || e.Code()&0xff == locked)
}

// Result codes of SQLite (sqlite.org/rescode.html).
const busy, locked = 5, 6

// setAside closes a database file and renames it. The mode can only be left when nobody else has the file open.
func setAside(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_pragma=busy_timeout(500)")
	if err != nil {
		return err
	}
	var mode string
	err = db.QueryRowContext(ctx, "PRAGMA journal_mode = DELETE").Scan(&mode)
	if e := db.Close(); e != nil {
		return e
	}
	if err == nil && mode != "delete" || err != nil && isBusy(err) {
		return fail.Of(fail.Conflict, "data", "backup.in_use", nil)
	}
	// Any other failure: the old file is damaged, which may be why it is replaced. It is kept with what lies beside it.
	aside := fmt.Sprintf("%s.before-restore-%s", path, time.Now().UTC().Format("20060102-150405.000"))
	for _, end := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(path+end, aside+end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("keep the old database: %w", err)
		}
	}
	return nil
}

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	_, err = io.Copy(out, in)
	return err
}

// place makes a file safe on the disk and moves it to its name in one step.
func place(from, to string) error {
	f, err := os.OpenFile(from, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("put in place: %w", err)
	}
	// The folder's entry too, where the system lets a folder be synced.
	if d, err := os.Open(filepath.Dir(to)); err == nil {
		_ = d.Sync()
		return d.Close()
	}
	return nil
}

package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"

	"coldwright/app"
	"coldwright/fail"
)

// FileName is the database of a data folder.
const FileName = "coldwright.db"

// A backup ends with a line that holds the sum of everything before it.
const (
	sumBefore = "\ncoldwright backup 1 sha256 "
	sumLine   = len(sumBefore) + 2*sha256.Size + 1
)

const selectVersion = `SELECT COALESCE(MAX(version_id), 0) FROM goose_db_version WHERE is_applied`

// summed is the first version of the tables whose backups end with their sum.
const summed = 5

// Backup writes the database of a folder to one file, also while another process serves from it: a snapshot of one
// moment, read from end to end as [VerifySQLite] does but for its lists, and then put in place whole, with its sum. What was acknowledged
// before Backup was called is in it.
//
//   - in: dir, the data folder; out, the file to write; force, to replace one that is there once the new one is whole
//   - out: what is in it
//   - errors: [*fail.Error] when there is no database in the folder or it is damaged; when the file is there and force is
//     not given, or it is the database itself; the disk fails
//   - cost: reads and writes the database about three times
func Backup(ctx context.Context, dir, out string, force bool) (found app.Verified, err error) {
	path := filepath.Join(dir, FileName)
	own, err := os.Stat(path)
	if err != nil {
		return found, fail.Of(fail.NotFound, "data", "backup.none", fail.Args{"folder": dir})
	}
	switch there, err := os.Stat(out); {
	case err == nil && os.SameFile(own, there):
		return found, fail.Of(fail.Conflict, "out", "backup.itself", fail.Args{"file": out})
	case err == nil && !force:
		return found, fail.Of(fail.Conflict, "out", "backup.there", fail.Args{"file": out, "force": fail.Setting("force")})
	}
	settled := settle(path)
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_pragma=busy_timeout(5000)")
	if err != nil {
		return found, fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close(), settled()) }()
	// The folder of the new file, so that putting it in place is one step.
	work, err := os.MkdirTemp(filepath.Dir(out), ".coldwright-backup-")
	if err != nil {
		return found, fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	made := filepath.Join(work, "copy.db")
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", made); err != nil {
		return found, damaged("the database", err)
	}
	version, err := check(ctx, made)
	if err != nil {
		return found, err
	}
	if version < summed { // its next start makes the chain
		found.Older = true
		return found, place(made, out)
	}
	sum, err := sumOf(made)
	if err != nil {
		return found, err
	}
	again := filepath.Join(work, "look.db") // what is looked at is changed by it
	if err := copyFile(made, again); err != nil {
		return found, err
	}
	// The lists are made again by whoever restores it; making them here would take longer than all the rest.
	if found, err = looked(ctx, again, false); err != nil {
		return found, err
	}
	if err := appendTo(made, sumBefore+sum+"\n"); err != nil {
		return found, err
	}
	return found, place(made, out)
}

// looked reads a copy from end to end, its lists too if they are asked for, and refuses it when it is damaged.
func looked(ctx context.Context, path string, lists bool) (found app.Verified, err error) {
	v := &verifier{out: &found, noLists: !lists}
	if err := v.copied(ctx, path); err != nil {
		return found, err
	}
	if n := len(found.Damage); n > 0 {
		first := found.Damage[0].What
		return found, fail.Of(fail.BadData, first.Field, "backup.altered", fail.Args{"count": n, "why": first})
	}
	return found, nil
}

func appendTo(path, text string) (err error) {
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	_, err = f.WriteString(text)
	return err
}

// Restore puts a backup into a data folder: the file is held against its sum, read from end to end, copied beside its
// place and put there in one step. A database that was there is kept beside it under a name with the date. The copy
// gets a name of its own, and its first start looks at the meaning of its events and makes its lists again.
//
//   - in: file, a backup; dir, the data folder, made when it is not there; force, to restore into a folder that is not empty
//   - out: what is in it; of a backup of an older program only that it is one
//   - errors: [*fail.Error] when the file is no backup, is damaged, was changed or is newer than this program; when the
//     folder is not empty; when its database is in use
//   - cost: reads and writes the backup about three times
func Restore(ctx context.Context, file, dir string, force bool) (found app.Verified, err error) {
	if _, err := os.Stat(file); err != nil {
		return found, fail.Of(fail.NotFound, "", "backup.cannot_read", fail.Args{"file": file})
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return found, fmt.Errorf("data folder: %w", err)
	}
	there, err := os.ReadDir(dir)
	if err != nil {
		return found, fmt.Errorf("data folder: %w", err)
	}
	if len(there) > 0 && !force {
		return found, fail.Of(fail.Conflict, "data", "backup.not_empty",
			fail.Args{"folder": dir, "force": fail.Setting("force")})
	}
	work, err := os.MkdirTemp(dir, ".coldwright-restore-")
	if err != nil {
		return found, fmt.Errorf("data folder: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	made := filepath.Join(work, "copy.db")
	if err := copyFile(file, made); err != nil {
		return found, fmt.Errorf("restore: %w", err)
	}
	said, err := cutSum(made)
	if err != nil {
		return found, err
	}
	if said != "" {
		if sum, err := sumOf(made); err != nil {
			return found, err
		} else if sum != said {
			return found, fail.Of(fail.BadData, "", "backup.sum", nil)
		}
	}
	version, err := check(ctx, made)
	if err != nil {
		return found, err
	}
	if known, err := newest(); err != nil {
		return found, err
	} else if version > known {
		return found, fail.Of(fail.BadData, "", "backup.newer", fail.Args{"version": version, "known": known})
	}
	found.Older = version < summed
	if !found.Older {
		if said == "" {
			return found, fail.Of(fail.BadData, "", "backup.sum", nil)
		}
		again := filepath.Join(work, "look.db")
		if err := copyFile(made, again); err != nil {
			return found, err
		}
		if found, err = looked(ctx, again, true); err != nil {
			return found, err
		}
		if err := anew(ctx, made); err != nil {
			return found, err
		}
	}
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); err == nil {
		if err := setAside(ctx, path); err != nil {
			return found, err
		}
	}
	return found, place(made, path)
}

// cutSum takes the line with the sum off a file and returns the sum; empty: there is none.
func cutSum(path string) (sum string, err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	info, err := f.Stat()
	if err != nil || info.Size() < int64(sumLine) {
		return "", err
	}
	line := make([]byte, sumLine)
	if _, err := f.ReadAt(line, info.Size()-int64(sumLine)); err != nil {
		return "", err
	}
	text := string(line)
	if !strings.HasPrefix(text, sumBefore) || text[len(text)-1] != '\n' {
		return "", nil
	}
	return text[len(sumBefore) : len(text)-1], f.Truncate(info.Size() - int64(sumLine))
}

// anew lets the first start of a restored database give it a name, look at its events and make its lists.
func anew(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_pragma=synchronous(FULL)")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	_, err = db.ExecContext(ctx, "DELETE FROM checksums WHERE name IN ('name', 'meaning', 'lists')")
	return err
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
	if err := db.QueryRowContext(ctx, selectVersion).Scan(&version); err != nil {
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
	// What was noted when it was closed holds no more.
	if err := os.Remove(path + stateEnd); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
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

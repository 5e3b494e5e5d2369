package store

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"
)

// stateEnd is the end of the name of the small file beside a database that says how it was left: open, with a
// write-ahead log that must be there, or closed, with the sum of its bytes.
const stateEnd = ".state"

// state is what stands in it. Sum is empty while the database is open.
type state struct {
	At  time.Time `json:"at"`
	Sum string    `json:"sha256,omitempty"`
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// readState reads it; a database of before has none, which is no failure.
func readState(path string) (s state, err error) {
	b, err := os.ReadFile(path + stateEnd)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err == nil {
		err = json.Unmarshal(b, &s)
	}
	return s, err
}

// lost reports that the database was left open and its log is gone: what was saved last went with it.
func (s state) lost(path string) bool {
	return !s.At.IsZero() && s.Sum == "" && !exists(path+"-wal")
}

// opened notes that a database is in use from now on.
func opened(path string) error { return writeState(path, state{At: time.Now().UTC()}) }

// closed notes how a database was left; while somebody else has it open it stays open.
func closed(path string) error {
	if exists(path + "-wal") {
		return nil
	}
	sum, err := sumOf(path)
	if err != nil {
		return err
	}
	return writeState(path, state{At: time.Now().UTC(), Sum: sum})
}

// settle is called before a database is opened by what only reads it, and what it returns once that is closed. Who closes
// a database last takes a log into it that a crash left behind: then it is closed, and no log is missing.
func settle(path string) func() error {
	left := exists(path + "-wal")
	return func() error {
		if left && !exists(path+"-wal") {
			return closed(path)
		}
		return nil
	}
}

func writeState(path string, s state) error {
	b, err := json.Marshal(s)
	if err != nil {
		return err
	}
	made := fmt.Sprintf("%s%s.%d", path, stateEnd, os.Getpid()) // two programs may open it at once
	if err := os.WriteFile(made, append(b, '\n'), 0o600); err != nil {
		return err
	}
	return os.Rename(made, path+stateEnd)
}

// sumOf is the SHA-256 of a file.
func sumOf(path string) (sum string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

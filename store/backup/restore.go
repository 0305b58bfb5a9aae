package backup

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// settling is the database's name until it is proved.
const settling = Database + ".restoring"

// Restore puts a backup into a data folder that holds nothing yet, proves that what is there now is what was copied, and gives
// the database a new epoch: phones then send again what it does not have. The database gets its name last, so a folder in
// which a restore broke off is not one that a server would start on.
func Restore(ctx context.Context, dir, data string, now func() time.Time) (m Manifest, err error) {
	if m, err = Check(ctx, dir); err != nil {
		return m, err
	}
	if err := mustBeEmpty(data); err != nil {
		return m, err
	}
	if err := os.MkdirAll(filepath.Join(data, Photos), 0o750); err != nil {
		return m, err
	}
	for _, p := range m.Photos {
		to := photoPath(filepath.Join(data, Photos), p.SHA)
		if err := os.MkdirAll(filepath.Dir(to), 0o750); err != nil {
			return m, err
		}
		if _, err := copyFile(photoPath(filepath.Join(dir, Photos), p.SHA), to); err != nil {
			return m, err
		}
	}
	if err := errors.Join(m.checkPhotos(ctx, filepath.Join(data, Photos)), syncBelow(filepath.Join(data, Photos))); err != nil {
		return m, err
	}
	return m, m.settle(ctx, dir, data, now)
}

// mustBeEmpty refuses a folder in which anything lies that a restore would stand beside. The lock of whoever restores may.
func mustBeEmpty(data string) error {
	list, err := os.ReadDir(data)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	for _, e := range list {
		switch e.Name() {
		case "server.lock", "lost+found":
			continue
		}
		return store.Errorf(store.Conflict, "%s is not empty: %s lies there. Nothing is ever overwritten; move it away or choose another -data folder.", data, e.Name())
	}
	return nil
}

// settle copies the database, compares it with the manifest, renames its epoch, and only then gives it its name.
func (m Manifest) settle(ctx context.Context, dir, data string, now func() time.Time) error {
	path := filepath.Join(data, settling)
	if _, err := copyFile(filepath.Join(dir, Database), path); err != nil {
		return err
	}
	held, err := sqlite.Inspect(ctx, path)
	if err != nil {
		return err
	}
	if err := sameTables(m.Tables, held.Tables); err != nil {
		return err
	}
	if err := renew(ctx, path, m.Epoch, now); err != nil {
		return err
	}
	return errors.Join(os.Rename(path, filepath.Join(data, Database)), syncFolder(data))
}

// renew brings the database to this program's shape and gives it another name.
func renew(ctx context.Context, path, old string, now func() time.Time) (err error) {
	db, err := sqlite.Open(ctx, path, now)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.RenewEpoch(ctx); err != nil {
		return err
	}
	epoch, err := db.Epoch(ctx)
	if err == nil && epoch == old {
		err = fmt.Errorf("the database kept its epoch %s", old)
	}
	return err
}

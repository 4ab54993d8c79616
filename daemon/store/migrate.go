package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*.sql
var migrations embed.FS

// newest is the schema that this program knows, by the number in front of a step's name.
func newest() (int64, error) {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil || len(names) == 0 {
		return 0, errors.Join(err, errors.New("the store's own migrations can't be read"))
	}
	return goose.NumericComponent(names[len(names)-1])
}

// migrate brings the file to this program's schema, each step in a transaction.
func migrate(ctx context.Context, db *sql.DB, path string) error {
	steps, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, steps,
		goose.WithLogger(goose.NopLogger()), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("read the store's own migrations: %w", err)
	}
	have, want, err := provider.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("%s cannot be read as a store of fairwindow: %w", path, explained(err))
	}
	if have > want {
		return fmt.Errorf("%s was written by a newer fairwindow (its schema is %d, this program knows %d); run that one, or restore a backup",
			path, have, want)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("bring %s from schema %d to %d: %w", path, have, want, explained(err))
	}
	return nil
}

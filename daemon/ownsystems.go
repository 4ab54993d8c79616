package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/store"
)

// withKept is a yard with the systems that were written on its pages, and what is
// wrong with those that are not in force.
func withKept(ctx context.Context, y config.Yard, kept *store.Store) (config.Yard, file.Mistakes, error) {
	rows, err := kept.Systems(ctx)
	if err != nil {
		return y, nil, err
	}
	var own []config.System
	for _, v := range rows {
		own = append(own, v.Of)
	}
	y, aside := y.WithSystems(own)
	var mistakes file.Mistakes
	for _, name := range slices.Sorted(maps.Keys(aside)) {
		mistakes = append(mistakes, file.Mistake{
			File: "the store", What: fmt.Sprintf("system %q, written on the pages, is not in force: %s", name, aside[name]), Warning: true,
		})
	}
	return y, mistakes, nil
}

// withSystems is withKept of the yard's store, where it has one that can be read.
func withSystems(ctx context.Context, y config.Yard, state string) (_ config.Yard, _ file.Mistakes, err error) {
	if state, err = stateFolder(state, y.Name); err != nil {
		return y, nil, nil // without a home there is no store either
	}
	kept, err := store.Read(state)
	if err != nil {
		return y, nil, nil // none yet, or an older one, which has no systems
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	return withKept(ctx, y, kept)
}

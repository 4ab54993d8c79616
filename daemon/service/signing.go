package service

import (
	"context"
	"fmt"

	"fairwindow/daemon/record"
	"fairwindow/daemon/signed"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// signature is a hand's under something that was done; false if the program acts by itself.
func signature(ctx context.Context, kind, about string) (store.Signature, bool) {
	h, ok := signed.Of(ctx)
	return store.Signature{
		Kind: kind, About: about, By: h.By, Role: h.Role, Address: h.Address, Device: h.Device, Through: h.Through,
	}, ok
}

// hands are the signature under what is kept outside a change; none if the program acts by itself.
func hands(ctx context.Context, kind, about, once string) []store.Signature {
	g, ok := signature(ctx, kind, about)
	if !ok {
		return nil
	}
	g.Once = once
	return []store.Signature{g}
}

// signatures are those under a change. What is not known here by its name is signed all the
// same, by the page that took it.
func signatures(ctx context.Context, c store.Change) []store.Signature {
	var all []store.Signature
	add := func(kind, about, by, once string) {
		g, ok := signature(ctx, kind, about)
		if !ok {
			return
		}
		if g.By == "" {
			g.By = by // a name that was typed into the form
		}
		g.Once = once
		all = append(all, g)
	}
	for _, p := range c.Presses {
		add(string(p.Kind), p.Key.String(), p.By, onceOf("press", p.Once))
	}
	if c.Release != nil {
		add("released", fmt.Sprintf("plan %d", c.Release.Plan), c.Release.By, "")
	}
	for _, b := range c.Boats {
		kind := "boat entered"
		switch {
		case b.Removed:
			kind = "boat taken out"
		case b.Revision > 0:
			kind = "boat changed"
		}
		add(kind, b.Boat.Name, b.By, onceOf("boat", b.Once))
	}
	for _, e := range c.Entries {
		kind := "entered"
		if e.Strikes != 0 {
			kind = "entry struck"
		}
		add(kind, e.Key.String(), e.By, onceOf("entry", e.Once))
	}
	for _, g := range c.Signed {
		kind := "signed off"
		if g.Signature.Act == record.Reopened {
			kind = "opened again"
		}
		add(kind, wholeOr(g.Signature.Key), g.Signature.By, onceOf("sign", g.Signature.Once))
	}
	for _, e := range c.Systems {
		kind := "system written"
		if e.Removed {
			kind = "system taken out"
		}
		add(kind, e.To.Name, e.By, onceOf("system", e.Once))
	}
	if h, ok := signed.Of(ctx); ok && len(all)+len(c.Signatures) == 0 {
		add("change", h.Through, h.By, "")
	}
	return all
}

// onceOf is by what a signature is known again when what it signs is sent twice, and counts
// once; empty if that can't be told.
func onceOf(of, once string) string {
	if once == "" {
		return ""
	}
	return of + "/" + once
}

// wholeOr names a coat, or the whole record of a boat.
func wholeOr(k planner.Key) string {
	if k.Stage == "" {
		return k.Boat + ", the whole record"
	}
	return k.String()
}

// signedReadings are the signatures under readings that a person typed in. What a machine
// sends bears its source's name, and is not signed one by one.
func signedReadings(ctx context.Context, readings []sensors.Reading) []store.Signature {
	var all []store.Signature
	for _, r := range readings {
		of := r.Place
		if r.Boat != "" {
			of = r.Boat
		}
		g, ok := signature(ctx, "reading", of)
		if !ok || g.Role == signed.Machine {
			return nil
		}
		if g.By == "" {
			g.By = r.Source
		}
		if r.Key != "" {
			g.Once = "reading/" + r.Source + "/" + r.Key
		}
		all = append(all, g)
	}
	return all
}

package service

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/google/renameio/v2"
	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
	"fairwindow/sensors/forecast"
)

// agent names us to weather services, several of which refuse the nameless.
const agent = "fairwindow (boat yard weather window planner)"

// refusedFolder holds, in the state folder, the last document of each address that
// was no forecast, as it came.
const refusedFolder = "refused"

// asked is what is remembered of a forecast's address, of all that is.
func asked(remembered map[string]json.RawMessage, source config.Forecast) (is sensors.AddressState, err error) {
	if text, ok := remembered[addressKey(source)]; ok {
		if err := json.Unmarshal(text, &is); err != nil {
			return is, fmt.Errorf("what the server of forecast %s said last can't be recalled: %w", source.Name, err)
		}
	}
	return is, nil
}

func addressKey(source config.Forecast) string { return "address/" + source.Name }

// Asked is how the address of a forecast answered last, from what a store remembers;
// zero for one that has none, or had another then.
func Asked(remembered map[string]json.RawMessage, source config.Forecast) (sensors.AddressState, error) {
	is, err := asked(remembered, source)
	if source.URL == "" || !is.About(source) {
		return sensors.AddressState{}, err
	}
	return is, err
}

// openAddress is the feed of one forecast's address. What its server said of the last
// document, and when to ask again, is remembered: a restart asks no sooner.
func (s *Service) openAddress(source config.Forecast) (feed, error) {
	key := addressKey(source)
	from, err := asked(s.remembered, source)
	if err != nil {
		return feed{}, err
	}
	address := sensors.NewAddress(sensors.AddressOptions{
		Source: source, Zone: s.facts.zone, Client: http.DefaultClient, Agent: agent, Parse: forecast.Parse,
		Intake: s.takeDocument, Clock: s.clock, State: from, Refuse: s.keepRefused,
	})
	// What was broken before a restart is, until the next try says otherwise.
	if is := address.State(); is.Failed > 0 {
		s.sources.broken[feedOf(source.Name)] = is.Why
	} else {
		delete(s.sources.broken, feedOf(source.Name))
	}
	return feed{name: feedOf(source.Name), next: address.Next(), when: address.Due, poll: func(ctx context.Context) error {
		before := address.State()
		failed := address.Poll(ctx)
		if address.State() == before {
			return failed
		}
		text, err := json.Marshal(address.State())
		if err != nil {
			return errors.Join(failed, err)
		}
		s.mu.Lock()
		defer s.mu.Unlock()
		s.remembered[key] = text
		_, err = s.commit(ctx, store.Change{Memory: map[string]json.RawMessage{key: text}})
		return errors.Join(failed, err)
	}}, nil
}

// keepRefused keeps a document that is no forecast, for whoever asks its service why.
// The good one before it stays in force.
func (s *Service) keepRefused(d sensors.Document, why error) {
	dir := filepath.Join(s.opt.State, refusedFolder)
	name := filepath.Join(dir, url.PathEscape(d.Source)+"."+d.Format)
	err := os.MkdirAll(dir, 0o700)
	if err == nil {
		err = renameio.WriteFile(name, d.Body, 0o600)
	}
	if err == nil {
		err = os.Chtimes(name, time.Time{}, d.Received)
	}
	log := s.log.WithFields(logrus.Fields{"source": d.Source, "file": name})
	if err != nil {
		log.WithError(err).Error("a document that is no forecast could not be kept")
		return
	}
	log.WithField("why", why.Error()).Info("a document that is no forecast was kept")
}

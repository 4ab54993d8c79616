package service

import (
	"context"
	"crypto/ecdh"
	"encoding/base64"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/notify/push"
)

// PushKey is the key that a browser is bound to when somebody lets it be rung; empty where the
// yard file lets nobody.
func (s *Service) PushKey() (string, error) {
	if !slices.ContainsFunc(s.Yard().People, func(p config.Person) bool { return p.Push }) {
		return "", nil
	}
	keys, err := push.LoadKeys(s.opt.State)
	return keys.Public, err
}

// Subscribe lets a person's browser be rung, as the browser introduces itself.
func (s *Service) Subscribe(ctx context.Context, person, endpoint, p256dh, auth string) error {
	p, ok := s.Yard().Person(strings.TrimSpace(person))
	if !ok || !p.Push {
		return refuse("%q is nobody whom the yard file lets be rung: write the name as it stands there, with push: true", person)
	}
	u, err := url.Parse(endpoint)
	key, bad := base64.RawURLEncoding.DecodeString(strings.TrimRight(p256dh, "="))
	if bad == nil {
		_, bad = ecdh.P256().NewPublicKey(key)
	}
	secret, worse := base64.RawURLEncoding.DecodeString(strings.TrimRight(auth, "="))
	// A browser on this machine may have a push service here, as in a test; all others are asked for TLS.
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Hostname() != "127.0.0.1" || bad != nil || worse != nil || len(secret) != 16 {
		return refuse("the browser did not say how it can be rung: allow it again")
	}
	return s.store.Subscribe(ctx, store.Subscription{Person: p.Name, Endpoint: endpoint, P256dh: p256dh, Auth: auth, At: s.clock.Now()}, hands(ctx, "browser rung", p.Name, "")...)
}

// errNoBrowser: a person who may be rung has not allowed a browser yet. That is no fault;
// the notices page says it.
var errNoBrowser = fmt.Errorf("%w: no browser is allowed to be rung", notify.ErrRefused)

// unrung says once of a person that no browser is rung.
func (s *Service) unrung(person string, log *logrus.Entry) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.post.unrung[person] {
		return
	}
	if s.post.unrung == nil {
		s.post.unrung = map[string]bool{}
	}
	s.post.unrung[person] = true
	log.Debug("a message rings nowhere; its notices are on the page")
}

// Unrung are the people who are to be rung by the yard file and have allowed no browser yet.
func (s *Service) Unrung(ctx context.Context) ([]string, error) {
	var names []string
	for _, p := range s.Yard().People {
		if !p.Push {
			continue
		}
		browsers, err := s.store.Subscriptions(ctx, p.Name)
		if err != nil {
			return nil, err
		}
		if len(browsers) == 0 {
			names = append(names, p.Name)
		}
	}
	return names, nil
}

// byPush rings each of a person's browsers. It is told when one of them is; who allowed none
// is not reached.
func (s *Service) byPush(ctx context.Context, y config.Yard, p config.Person, l notify.Letter) error {
	keys, err := push.LoadKeys(s.opt.State)
	if err != nil {
		return err
	}
	browsers, err := s.store.Subscriptions(ctx, p.Name)
	if err != nil {
		return err
	}
	if len(browsers) == 0 {
		return fmt.Errorf("%w: %s", errNoBrowser, p.Name)
	}
	way := push.New(keys, y.Mail.From)
	rung := false
	var faults []error
	for _, b := range browsers {
		err := way.Send(ctx, push.Subscription{Endpoint: b.Endpoint, P256dh: b.P256dh, Auth: b.Auth}, l)
		if errors.Is(err, push.ErrGone) {
			err = errors.Join(err, s.store.Unsubscribe(ctx, b.Endpoint))
		}
		rung = rung || err == nil
		faults = append(faults, err)
	}
	if rung {
		return nil
	}
	for _, f := range faults {
		if !errors.Is(f, notify.ErrRefused) {
			return f // another try may reach it
		}
	}
	return errors.Join(faults...)
}

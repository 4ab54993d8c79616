package service

import (
	"context"

	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/notify/mail"
	"fairwindow/notify/webhook"
)

// byMail sends a letter by the yard's mail server. The password is read at each try: one that was
// put right is in force at once.
func (s *Service) byMail(ctx context.Context, y config.Yard, p config.Person, l notify.Letter) error {
	o := mail.Options{Server: y.Mail.Server, From: y.Mail.From, Yard: y.Name, User: y.Mail.User, TLS: y.Mail.TLS}
	if y.Mail.User != "" {
		secret, err := s.secret(y.Mail.Password)
		if err != nil {
			return err
		}
		o.Password = secret
	}
	way, err := mail.New(o)
	if err != nil {
		return err
	}
	return way.Send(ctx, p.Mail, l)
}

// byWebhook posts a letter to another program.
func (s *Service) byWebhook(ctx context.Context, p config.Person, l notify.Letter) error {
	secret, err := s.secret(p.Webhook.Secret)
	if err != nil {
		return err
	}
	return webhook.New(s.clock.Now).Send(ctx, webhook.Hook{URL: p.Webhook.URL, Secret: []byte(secret)}, l)
}

package field

import (
	"encoding/json"
	"errors"
	"mime"
	"net/http"
	"strings"

	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/route"
)

// answer writes a value as JSON that nobody keeps.
func answer(w http.ResponseWriter, status int, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	if w.Header().Get("Cache-Control") == "" {
		w.Header().Set("Cache-Control", "no-store")
	}
	w.WriteHeader(status)
	_, _ = w.Write(append(body, '\n'))
	return nil
}

// answerPacked is answer for what is long: a day packet goes over a thin line.
func answerPacked(w http.ResponseWriter, r *http.Request, body []byte) error {
	packed, err := zippedSoon(body)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	if w.Header().Get("Cache-Control") == "" {
		w.Header().Set("Cache-Control", "no-store")
	}
	write(w, r, body, packed)
	return nil
}

// refuse answers with a status of this protocol that no kind of error stands for.
func refuse(w http.ResponseWriter, status int, name, say string) error {
	return answer(w, status, map[string]string{"error": name, "say": say})
}

// malformed answers what could not be read as a request with 400; every other error goes on to the one place for errors.
func malformed(w http.ResponseWriter, err error) error {
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		return refuse(w, http.StatusRequestEntityTooLarge, "too_large", "Too much was sent at once. Everything is still kept on the phone; it will be sent in smaller parts.")
	case store.KindOf(err) != store.Invalid:
		return err
	}
	var e *store.Error
	errors.As(err, &e)
	return refuse(w, http.StatusBadRequest, "malformed", e.Say)
}

// sender is who sends and with which browser.
func sender(r *http.Request) (intake.Sender, error) {
	who, ok := route.Person(r.Context())
	if !ok {
		return intake.Sender{}, store.Errorf(store.SignIn, "Sign in to send. Everything is still kept on the phone.")
	}
	return intake.Sender{Person: who, Agent: r.UserAgent()}, nil
}

// sentAs reports whether the body is of a type, whatever parameters come with it.
func sentAs(r *http.Request, kind string) bool {
	got, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && got == kind
}

// tagged reports whether the phone has exactly this already.
func tagged(r *http.Request, tag string) bool {
	for one := range strings.SplitSeq(r.Header.Get("If-None-Match"), ",") {
		if strings.TrimPrefix(strings.TrimSpace(one), "W/") == tag {
			return true
		}
	}
	return false
}

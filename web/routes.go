package web

import (
	"net/http"
	"slices"

	"swardbook/web/route"
)

// routes is the one list: what is answered, and the least role it is answered to.
func (s *server) routes(d Deps) []route.Route {
	return slices.Concat(s.doors(), s.safety(), deskRoutes(d), bookRoutes(d), officeRoutes(d), ownerRoutes(d), d.Field.Routes())
}

// doors are for anyone.
func (s *server) doors() []route.Route {
	return []route.Route{
		{Method: "GET", Pattern: "/", Audience: route.Anyone, Handler: s.home},
		{Method: "GET", Pattern: "/sign-in", Audience: route.Anyone, Handler: s.signInPage},
		{Method: "POST", Pattern: "/sign-in", Audience: route.Anyone, Handler: s.signIn},
		{Method: "POST", Pattern: "/sign-in/second", Audience: route.Anyone, Handler: s.second},
		{Method: "GET", Pattern: "/setup", Audience: route.Anyone, Handler: s.setupPage},
		{Method: "POST", Pattern: "/setup", Audience: route.Anyone, Handler: s.setup},
		{Method: "GET", Pattern: "/static/*", Audience: route.Anyone, Handler: s.files.serve},
		{Method: "GET", Pattern: "/healthz", Audience: route.Anyone, Handler: s.health},
		{Method: "POST", Pattern: "/sign-out", Audience: route.Crew, Handler: s.signOut},
		{Method: "POST", Pattern: "/sign-out/everywhere", Audience: route.Crew, Handler: s.signOutEverywhere},
	}
}

// deskRoutes are the manager's and the owner's pages.
func deskRoutes(d Deps) []route.Route {
	o := d.Desk
	return []route.Route{
		{Method: "GET", Pattern: "/desk/", Audience: route.Manager, Handler: o.Needs},
		{Method: "GET", Pattern: "/desk/visits/{visit}", Audience: route.Manager, Handler: o.Visit},
		{Method: "POST", Pattern: "/desk/visits/{visit}/overrule", Audience: route.Manager, Handler: o.Overrule},
		{Method: "POST", Pattern: "/desk/visits/{visit}/sign-off", Audience: route.Manager, Handler: o.SignOff},
		{Method: "POST", Pattern: "/desk/visits/{visit}/send-back", Audience: route.Manager, Handler: o.SendBack},
		{Method: "POST", Pattern: "/desk/visits/{visit}/choose", Audience: route.Manager, Handler: o.Choose},
		{Method: "GET", Pattern: "/desk/aside", Audience: route.Manager, Handler: o.Asides},
		{Method: "POST", Pattern: "/desk/aside/{op}", Audience: route.Manager, Handler: o.SettleAside},
		{Method: "GET", Pattern: "/desk/aside/{op}/place", Audience: route.Manager, Handler: o.AskPlace},
		{Method: "POST", Pattern: "/desk/aside/{op}/place", Audience: route.Manager, Handler: o.PlaceAside},
		{Method: "GET", Pattern: "/desk/copy", Audience: route.Manager, Handler: o.Copy},
		{Method: "POST", Pattern: "/desk/copy", Audience: route.Manager, Handler: o.TakeCopy},
		{Method: "POST", Pattern: "/desk/silent/{device}", Audience: route.Manager, Handler: o.GiveUp},
		{Method: "GET", Pattern: "/desk/clients", Audience: route.Manager, Handler: o.Clients},
		{Method: "GET", Pattern: "/desk/clients/new", Audience: route.Manager, Handler: o.NewClient},
		{Method: "POST", Pattern: "/desk/clients/new", Audience: route.Manager, Handler: o.AddClient},
		{Method: "GET", Pattern: "/desk/clients/{client}", Audience: route.Manager, Handler: o.Client},
		{Method: "POST", Pattern: "/desk/clients/{client}/properties", Audience: route.Manager, Handler: o.AddProperty},
		{Method: "GET", Pattern: "/desk/clients/{client}/season/{year}", Audience: route.Manager, Handler: o.Season},
		{Method: "GET", Pattern: "/desk/properties/{property}", Audience: route.Manager, Handler: o.Property},
		{Method: "POST", Pattern: "/desk/properties/{property}/zones", Audience: route.Manager, Handler: o.AddZone},
		{Method: "POST", Pattern: "/desk/properties/{property}/visits", Audience: route.Manager, Handler: o.AddVisit},
		{Method: "GET", Pattern: "/desk/causes", Audience: route.Manager, Handler: o.Causes},
		{Method: "GET", Pattern: "/desk/learning", Audience: route.Manager, Handler: o.Learning},
		{Method: "POST", Pattern: "/desk/learning/accept", Audience: route.Manager, Handler: o.AcceptLearning},
		{Method: "POST", Pattern: "/desk/learning/undo", Audience: route.Manager, Handler: o.UndoLearning},
		{Method: "GET", Pattern: "/desk/learning/scores", Audience: route.Manager, Handler: o.Scores},
		{Method: "GET", Pattern: "/desk/properties/{property}/work", Audience: route.Manager, Handler: o.PropertyWork},
		{Method: "GET", Pattern: "/desk/applications/{application}", Audience: route.Manager, Handler: o.Application},
		{Method: "POST", Pattern: "/desk/applications/{application}", Audience: route.Manager, Handler: o.CorrectApplication},
		{Method: "POST", Pattern: "/desk/applications/{application}/seen", Audience: route.Manager, Handler: o.SeeApplication},
		{Method: "GET", Pattern: "/desk/materials", Audience: route.Manager, Handler: o.Materials},
		{Method: "GET", Pattern: "/desk/materials/new", Audience: route.Manager, Handler: o.NewMaterial},
		{Method: "POST", Pattern: "/desk/materials/new", Audience: route.Manager, Handler: o.AddMaterial},
		{Method: "POST", Pattern: "/desk/materials/rules", Audience: route.Manager, Handler: o.SaveRules},
		{Method: "GET", Pattern: "/desk/materials/{material}", Audience: route.Manager, Handler: o.Material},
		{Method: "POST", Pattern: "/desk/materials/{material}", Audience: route.Manager, Handler: o.SaveMaterial},
		{Method: "GET", Pattern: "/desk/visits/{visit}/plan", Audience: route.Manager, Handler: o.Plan},
		{Method: "POST", Pattern: "/desk/visits/{visit}/plan", Audience: route.Manager, Handler: o.ChangePlan},
		{Method: "POST", Pattern: "/desk/visits/{visit}/plan/sign", Audience: route.Manager, Handler: o.SignPlan},
		{Method: "POST", Pattern: "/desk/visits/{visit}/lawn", Audience: route.Manager, Handler: o.SaveLawn},
		{Method: "GET", Pattern: "/desk/plans/{plan}", Audience: route.Manager, Handler: o.SignedPlan},
		{Method: "POST", Pattern: "/desk/plans/{plan}/steps/{step}", Audience: route.Manager, Handler: o.ChangeStep},
		{Method: "GET", Pattern: "/desk/weather", Audience: route.Manager, Handler: o.Weather},
		{Method: "POST", Pattern: "/desk/weather", Audience: route.Manager, Handler: o.LookAtWeather},
		{Method: "GET", Pattern: "/desk/load", Audience: route.Manager, Handler: o.Load},
		{Method: "GET", Pattern: "/desk/calibrations", Audience: route.Manager, Handler: o.Calibrations},
		{Method: "GET", Pattern: "/desk/causes/{cause}", Audience: route.Manager, Handler: o.Cause},
		{Method: "GET", Pattern: "/desk/photos/{sha}", Audience: route.Manager, Handler: o.Photo},
		{Method: "GET", Pattern: "/desk/people", Audience: route.Owner, Handler: o.People},
		{Method: "POST", Pattern: "/desk/people", Audience: route.Owner, Handler: o.AddPerson},
		{Method: "POST", Pattern: "/desk/people/{person}/passcode", Audience: route.Owner, Handler: o.ResetPasscode},
		{Method: "POST", Pattern: "/desk/people/{person}/second-off", Audience: route.Owner, Handler: o.DropSecond},
		{Method: "GET", Pattern: "/desk/clients/{client}/data", Audience: route.Owner, Handler: o.ClientData},
		{Method: "GET", Pattern: "/desk/clients/{client}/data.zip", Audience: route.Owner, Handler: o.ClientZip},
		{Method: "POST", Pattern: "/desk/clients/{client}/erase", Audience: route.Owner, Handler: o.EraseClient},
		{Method: "GET", Pattern: "/desk/me", Audience: route.Manager, Handler: o.Me},
		{Method: "POST", Pattern: "/desk/me/second", Audience: route.Manager, Handler: o.BeginSecond},
		{Method: "POST", Pattern: "/desk/me/second/confirm", Audience: route.Manager, Handler: o.ConfirmSecond},
		{Method: "POST", Pattern: "/desk/me/second/recovery", Audience: route.Manager, Handler: o.RenewRecovery},
		{Method: "POST", Pattern: "/desk/me/second/off", Audience: route.Manager, Handler: o.EndSecond},
	}
}

// health says that the program runs and its database answers.
func (s *server) health(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.db.Empty(r.Context()); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, err := w.Write([]byte("ok\n"))
	return err
}

// Package deploy holds what an operator is given to what the service is: the alerts, the dashboard, the
// units, the containers.
package deploy

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.yaml.in/yaml/v4"

	"sizerun/internal/config"
	"sizerun/internal/observe/meters"
	"sizerun/internal/shop"
	"sizerun/internal/testkit"
)

type backlog struct{}

func (backlog) Backlog(context.Context) (shop.Backlog, error) { return shop.Backlog{}, nil }
func (backlog) Tasks(context.Context) (map[string]int, error) {
	return map[string]int{"pending": 0}, nil
}

// shown are the names of all that a process shows.
func shown(t *testing.T) map[string]bool {
	t.Helper()
	m := meters.New("v1", "e")
	m.Watch(backlog{}, backlog{})
	m.RunBegan(time.Second)
	m.StageTook("making", time.Second)
	m.FileDelivered("A4", 1, 1)
	m.HookTried(shop.HookDelivered, time.Second)
	m.Answered("/v1/runs", "POST", 202, time.Second)
	w := httptest.NewRecorder()
	m.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	names := map[string]bool{}
	for _, f := range regexp.MustCompile(`(?m)^([a-z_]+)[ {]`).FindAllStringSubmatch(w.Body.String(), -1) {
		names[f[1]] = true
	}
	return names
}

var metric = regexp.MustCompile(`\b(sizerun|process|go)_[a-z_]+`)

func known(t *testing.T, names map[string]bool, where, text string) {
	t.Helper()
	found := metric.FindAllString(text, -1)
	if len(found) == 0 {
		t.Errorf("%s looks at nothing", where)
	}
	for _, n := range found {
		if !names[n] {
			t.Errorf("%s looks at %s, which nobody shows", where, n)
		}
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestAlertsSoundWhenTheyMustAndNotOtherwise(t *testing.T) {
	names := shown(t)
	var rules struct {
		Groups []struct {
			Rules []struct {
				Alert, Expr         string
				Labels, Annotations map[string]string
			}
		}
	}
	if err := yaml.Unmarshal([]byte(read(t, "prometheus/sizerun-alerts.yaml")), &rules); err != nil {
		t.Fatal(err)
	}
	tests := read(t, "prometheus/sizerun-alerts-test.yaml")
	for _, r := range rules.Groups[0].Rules {
		known(t, names, r.Alert, r.Expr)
		if r.Labels["severity"] == "" || r.Annotations["summary"] == "" || r.Annotations["what"] == "" {
			t.Errorf("%s does not say how bad it is, what it is, or what to do", r.Alert)
		}
		if !strings.Contains(tests, `alertname="`+r.Alert+`"`) || !strings.Contains(tests, "alertname: "+r.Alert+" ") {
			t.Errorf("%s is not tested both ways", r.Alert)
		}
	}
	if _, err := exec.LookPath("promtool"); err != nil {
		testkit.Missing(t, "promtool", "prometheus")
	}
	for _, args := range [][]string{{"check", "rules", "sizerun-alerts.yaml"}, {"test", "rules", "sizerun-alerts-test.yaml"}} {
		c := exec.Command("promtool", args...)
		c.Dir = "prometheus"
		if out, err := c.CombinedOutput(); err != nil {
			t.Errorf("promtool %v: %v\n%s", args, err, out)
		}
	}
}

func TestTheDashboardLooksAtWhatIsShown(t *testing.T) {
	var d struct {
		Title         string
		SchemaVersion int
		Panels        []struct {
			ID          int
			Type, Title string
			GridPos     struct{ H, W, X, Y int }
			Targets     []struct{ Expr, RefID string }
		}
	}
	if err := json.Unmarshal([]byte(read(t, "grafana/sizerun.json")), &d); err != nil {
		t.Fatal(err)
	}
	names, ids := shown(t), map[int]bool{}
	var exprs strings.Builder
	for _, p := range d.Panels {
		if ids[p.ID] || p.Title == "" || p.GridPos.X+p.GridPos.W > 24 || p.GridPos.H < 1 {
			t.Errorf("panel %d %q: %+v", p.ID, p.Title, p.GridPos)
		}
		ids[p.ID] = true
		if (p.Type == "row") != (len(p.Targets) == 0) {
			t.Errorf("panel %q has %d targets", p.Title, len(p.Targets))
		}
		for _, q := range p.Targets {
			known(t, names, p.Title, q.Expr)
			fmt.Fprintf(&exprs, "  - {record: \"panel:%d%s\", expr: %s}\n", p.ID, strings.ToLower(q.RefID), strconv.Quote(q.Expr))
		}
	}
	if len(d.Panels) < 20 || d.SchemaVersion < 30 {
		t.Errorf("%d panels of schema %d", len(d.Panels), d.SchemaVersion)
	}
	// What Prometheus itself can read.
	if _, err := exec.LookPath("promtool"); err != nil {
		testkit.Missing(t, "promtool", "prometheus")
	}
	file := filepath.Join(t.TempDir(), "rules.yaml")
	if err := os.WriteFile(file, []byte("groups:\n- name: panels\n  rules:\n"+exprs.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("promtool", "check", "rules", file).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

// settingsIn finds our settings in a text.
var settingIn = regexp.MustCompile(`\b((SIZERUN|STORAGE)_[A-Z_]+|DATABASE_URL(_FILE)?|REDIS_URL(_FILE)?)\b`)

func onlyKnownSettings(t *testing.T, where, text string) {
	t.Helper()
	for _, s := range settingIn.FindAllString(text, -1) {
		if !strings.Contains(config.Help(), "\n"+strings.TrimSuffix(s, "_FILE")+" ") && !strings.HasPrefix(config.Help(), s+" ") {
			t.Errorf("%s sets %s, which is no setting", where, s)
		}
	}
}

func TestTheUnitsAreRightAndGrantLittle(t *testing.T) {
	units, err := filepath.Glob("systemd/*.service")
	if err != nil || len(units) != 3 {
		t.Fatal(units, err)
	}
	for _, u := range units {
		onlyKnownSettings(t, u, read(t, u))
	}
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		testkit.Missing(t, "systemd-analyze", "systemd")
	}
	dir := t.TempDir()
	for _, u := range units {
		// The program need not be installed for the rest to be looked at.
		there := strings.ReplaceAll(read(t, u), "/usr/local/bin/sizerun ", "/bin/true ")
		file := filepath.Join(dir, filepath.Base(u))
		if err := os.WriteFile(file, []byte(there), 0o600); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command("systemd-analyze", "verify", file).CombinedOutput(); err != nil || len(out) > 0 {
			t.Errorf("%s: %v\n%s", u, err, out)
		}
		// Its measure of exposure goes to 10, times ten here.
		if out, err := exec.Command("systemd-analyze", "security", "--offline=true", "--threshold=20", file).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", u, err, out[max(0, len(out)-200):])
		}
	}
}

type container struct {
	Image, User      string
	Command          []string
	ReadOnly         bool     `yaml:"read_only"`
	CapDrop          []string `yaml:"cap_drop"`
	SecurityOpt      []string `yaml:"security_opt"`
	Environment      map[string]string
	Secrets, Volumes []string
	Ports            []string
	StopGracePeriod  string `yaml:"stop_grace_period"`
	Healthcheck      map[string]any
	DependsOn        map[string]map[string]string `yaml:"depends_on"`
}

func TestTheContainersAreTheWholeSet(t *testing.T) {
	text := read(t, "compose.yaml")
	var c struct {
		Services map[string]container
		Secrets  map[string]any
	}
	if err := yaml.Unmarshal([]byte(text), &c); err != nil {
		t.Fatal(err)
	}
	onlyKnownSettings(t, "compose.yaml", text)
	count := map[string]int{}
	for name, s := range c.Services {
		for _, secret := range s.Secrets {
			if c.Secrets[secret] == nil {
				t.Errorf("%s: there is no secret %s", name, secret)
			}
		}
		if s.Image != "sizerun" {
			if s.Healthcheck["test"] == nil {
				t.Errorf("%s: nobody knows whether it is well", name)
			}
			continue
		}
		count[s.Command[0]]++
		if !s.ReadOnly || !slices.Contains(s.CapDrop, "ALL") || !slices.Contains(s.SecurityOpt, "no-new-privileges:true") {
			t.Errorf("%s may do too much: %+v", name, s)
		}
		var env []string
		for k, v := range s.Environment {
			env = append(env, k+"="+v)
		}
		cfg, err := config.Load(env, func(string) ([]byte, error) {
			return []byte("postgres://sizerun:x@postgres:5432/sizerun?sslmode=disable"), nil
		})
		if err == nil {
			err = cfg.Need(config.Mode(s.Command[0]))
		}
		if err != nil || len(cfg.Unknown) > 0 {
			t.Errorf("%s would not start: %v %v", name, err, cfg.Unknown)
		}
		if grace, err := time.ParseDuration(s.StopGracePeriod); err != nil || grace < cfg.DrainDelay+cfg.Drain+10*time.Second {
			t.Errorf("%s is killed before it has drained: %s, %v", name, s.StopGracePeriod, err)
		}
		if s.Command[0] != "migrate" && s.DependsOn["migrate"]["condition"] != "service_completed_successfully" {
			t.Errorf("%s does not wait for the schema", name)
		}
		for _, p := range s.Ports {
			if !strings.HasPrefix(p, "127.0.0.1:") {
				t.Errorf("%s is open to the world without TLS: %s", name, p)
			}
		}
	}
	if count["api"] != 2 || count["worker"] != 2 || count["migrate"] != 1 {
		t.Errorf("%v", count)
	}
	if r := strings.Join(c.Services["redis"].Command, " "); !strings.Contains(r, "--appendonly yes") || !strings.Contains(r, "--maxmemory-policy noeviction") {
		t.Errorf("Redis: %s", r)
	}
}

func TestTheImageRunsAsNobodyAndSaysWhetherItIsWell(t *testing.T) {
	text := read(t, "Dockerfile")
	_, last, ok := strings.Cut(text, "\nFROM scratch\n")
	if !ok {
		t.Fatal("the image has a system in it")
	}
	for _, line := range []string{"USER 65532:65532", "HEALTHCHECK ", "COPY --from=build --chown=65532:65532 /data /data", `CMD ["/sizerun", "healthcheck"]`, `ENTRYPOINT ["/sizerun"]`, "ca-certificates.crt"} {
		if !strings.Contains(last, line) {
			t.Errorf("no %s", line)
		}
	}
	if !strings.Contains(read(t, "../.dockerignore"), "deploy/secrets") {
		t.Error("secrets go into the build")
	}
}

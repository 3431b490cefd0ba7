package hooks

import (
	"fmt"
	"net"
	"net/netip"
	"strings"
)

// special are the networks that are nobody's on the public Internet (IANA's special-purpose address
// registries, RFC 6890 and later), and those by which an IPv4 address can be spelt in IPv6.
var special = prefixes(
	"0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24", "192.0.2.0/24",
	"192.31.196.0/24", "192.52.193.0/24", "192.88.99.0/24", "192.168.0.0/16", "192.175.48.0/24", "198.18.0.0/15", "198.51.100.0/24",
	"203.0.113.0/24", "224.0.0.0/4", "240.0.0.0/4",
	"::/96", "::ffff:0:0/96", "64:ff9b::/96", "64:ff9b:1::/48", "100::/64", "100:0:0:1::/64", "2001::/23", "2001:db8::/32", "2002::/16",
	"2620:4f:8000::/48", "3fff::/20", "5f00::/16", "fc00::/7", "fe80::/10", "fec0::/10", "ff00::/8",
)

func prefixes(ss ...string) []netip.Prefix {
	out := make([]netip.Prefix, len(ss))
	for i, s := range ss {
		out[i] = netip.MustParsePrefix(s)
	}
	return out
}

// Guard says which addresses may be dialled: public ones, and what an operator lets through by host or
// by network.
type Guard struct {
	hosts map[string]bool
	nets  []netip.Prefix
}

// ReadGuard reads an operator's list: hosts as they stand in a URL, addresses and networks, separated
// by commas.
func ReadGuard(list string) (Guard, error) {
	g := Guard{hosts: map[string]bool{}}
	for i, one := range strings.Split(list, ",") {
		one = strings.ToLower(strings.TrimSpace(one))
		if one == "" {
			continue
		}
		if p, err := netip.ParsePrefix(one); err == nil {
			g.nets = append(g.nets, p.Masked())
			continue
		}
		if a, err := netip.ParseAddr(one); err == nil {
			a = a.Unmap()
			g.nets = append(g.nets, netip.PrefixFrom(a, a.BitLen()))
			continue
		}
		if strings.ContainsAny(one, "/: @*?#%") {
			// Not what it says: a secret may have been set in the wrong place.
			return Guard{}, fmt.Errorf("entry %d is neither a host nor an address nor a network", i+1)
		}
		g.hosts[one] = true
	}
	return g, nil
}

// host reports whether an operator named the host.
func (g Guard) host(name string) bool { return g.hosts[strings.ToLower(strings.TrimSuffix(name, "."))] }

// address judges an address as it is about to be dialled.
func (g Guard) address(hostport string) error {
	h, _, err := net.SplitHostPort(hostport)
	if err != nil {
		return err
	}
	a, err := netip.ParseAddr(h)
	if err != nil {
		return err
	}
	return g.addr(a)
}

func (g Guard) addr(a netip.Addr) error {
	a = a.WithZone("").Unmap()
	for _, p := range g.nets {
		if p.Contains(a) {
			return nil
		}
	}
	for _, p := range special {
		if p.Contains(a) {
			return fmt.Errorf("the address %s is not a public one", a)
		}
	}
	if !a.IsGlobalUnicast() {
		return fmt.Errorf("the address %s is not a public one", a)
	}
	return nil
}

"use strict";
// The stored draws of the surfaces -> chances and edges at any setting. These are the sums of
// models/goodness.py, models/margins.py and models/window.py over the draws in the page; a test
// holds both to the same numbers.
const liveNumbers = (() => {
  const DUST = 1e-6; // share of a step that comes from arithmetic, never from a setting
  const COMPARE = {
    ">=": (x) => x >= 0,
    ">": (x) => x > 0,
    "<=": (x) => x <= 0,
    "<": (x) => x < 0,
    "==": (x) => x === 0,
  };

  function floats(text) {
    const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
    const view = new DataView(bytes.buffer); // little-endian on every machine
    return Float64Array.from({ length: bytes.length / 4 }, (_, i) => view.getFloat32(4 * i, true));
  }

  // Unpack the draws.
  function model(data) {
    const curves = data.curves.map((c) => ({
      response: c.response,
      exponents: c.exponents,
      scaled: floats(c.scaled),
      offset: floats(c.offset),
      ...(c.curve ? { curve: floats(c.curve) } : { shared: floats(c.shared) }),
      cavities: c.cavities,
      reach: c.reach,
    }));
    return { ...data, curves };
  }

  function coded(m, settings) {
    return m.factors.map((f, j) => {
      let [low, high, value] = [f.low, f.high, settings[j]];
      if (f.log) {
        value = Math.log(Math.max(value, 0.01 * low));
        [low, high] = [Math.log(low), Math.log(high)];
      }
      return (2 * value - (low + high)) / (high - low);
    });
  }

  // Bad shots for each good one, draw after draw, lot after lot.
  function oddsOf(m, c, place) {
    const terms = c.exponents.map((powers) =>
      powers.reduce((product, power, j) => product * place[j] ** power, 1),
    );
    if (c.cavities) return oddsOfUnlike(m, c, terms);
    const degree = c.curve.length / m.draws - 1;
    const odds = new Float64Array(m.draws * m.lots);
    for (let d = 0; d < m.draws; d++) {
      let surface = 0;
      for (let t = 0; t < terms.length; t++) surface += c.scaled[d * terms.length + t] * terms[t];
      for (let lot = 0; lot < m.lots; lot++) {
        const above = surface + c.offset[d * m.lots + lot];
        const height = Math.min(m.reach, Math.max(-m.reach, above));
        let logit = c.curve[d * (degree + 1) + degree];
        for (let p = degree - 1; p >= 0; p--) {
          logit = logit * height + c.curve[d * (degree + 1) + p];
        }
        odds[d * m.lots + lot] = Math.exp(-logit);
      }
    }
    return odds;
  }

  // The same where cavities answer to the settings in ways of their own: models/cavity_shares.py.
  function oddsOfUnlike(m, c, terms) {
    const { nodes, weights, far, line, cube } = m.unlike;
    const odds = new Float64Array(m.draws * m.lots);
    for (let d = 0; d < m.draws; d++) {
      const surface = Array.from({ length: c.cavities }, (_, one) => {
        const from = (d * c.cavities + one) * terms.length;
        return terms.reduce((sum, term, t) => sum + c.scaled[from + t] * term, 0);
      });
      for (let lot = 0; lot < m.lots; lot++) {
        const heights = surface.map((s, one) => s + c.offset[(d * m.lots + lot) * c.cavities + one]);
        // the worst cavity alone decides where no other may count
        const [first, second] = [...heights].sort((a, b) => a - b);
        const total = Math.hypot(1, c.shared[d]);
        const close = Math.abs(first / total) < c.reach && second / total < c.reach;
        if (!(close && second - first < Math.SQRT2 * c.reach)) {
          const u = Math.min(far, Math.max(-far, first / total));
          odds[d * m.lots + lot] = Math.exp(-u * (line + cube * u * u));
          continue;
        }
        let good = 0;
        for (let i = 0; i < nodes.length; i++) {
          let bad = 1;
          for (const height of heights) {
            const u = Math.min(far, Math.max(-far, height + nodes[i] * c.shared[d]));
            bad *= 1 + Math.exp(-u * (line + cube * u * u));
          }
          good += weights[i] / bad;
        }
        odds[d * m.lots + lot] = (1 - good) / Math.max(good, 1e-30);
      }
    }
    return odds;
  }

  // Share of good shots in the worst lot, for each draw.
  function shares(m, settings) {
    const place = coded(m, settings);
    const all = m.curves.map((c) => oddsOf(m, c, place));
    const good = new Float64Array(m.draws);
    for (let d = 0; d < m.draws; d++) {
      let worst = 0;
      for (let lot = 0; lot < m.lots; lot++) {
        const bad = all.reduce((product, odds) => product * (1 + odds[d * m.lots + lot]), 1);
        worst = Math.max(worst, bad);
      }
      good[d] = 1 / worst;
    }
    return good;
  }

  // Response with the lowest mean share of good shots.
  function weakest(m, settings) {
    const place = coded(m, settings);
    const lowest = m.curves.map((c) => {
      const odds = oddsOf(m, c, place);
      const sums = new Float64Array(m.lots);
      odds.forEach((value, i) => (sums[i % m.lots] += 1 / (1 + value)));
      return Math.min(...sums);
    });
    return m.curves[lowest.indexOf(Math.min(...lowest))].response;
  }

  function answered(m, settings) {
    const region = m.region;
    const inside = settings.every((value, j) => {
      const tiny = 1e-9 * (1 + Math.abs(region.high[j]) + Math.abs(region.low[j]));
      const dust = m.factors[j].step * DUST;
      const [least, most] = m.factors[j].limits;
      const tried = value >= region.low[j] - tiny && value <= region.high[j] + tiny;
      return tried && value >= least - dust && value <= most + dust;
    });
    const lengths = region.root[0].map((_, column) =>
      settings.reduce((sum, v, j) => sum + (v - region.center[j]) * region.root[j][column], 0),
    );
    const near = Math.hypot(...lengths) <= region.reach * 1.001 + 1e-9;
    const meets = ([j, comparison, value]) => {
      const steps = (settings[j] - value) / m.factors[j].step;
      return COMPARE[comparison](Math.abs(steps) < DUST ? 0 : steps);
    };
    return inside && near && !m.rules.some((rule) => rule.every(meets));
  }

  // Chance of a good shot and of lying in the window; null where there is no answer.
  function at(m, settings) {
    if (!answered(m, settings)) return null;
    const each = shares(m, settings);
    const good = each.reduce((sum, share) => sum + share, 0) / m.draws;
    const inWindow = each.reduce((sum, share) => sum + (share >= m.goodFrom), 0) / m.draws;
    return { good, inWindow };
  }

  // Both edges along every factor that was varied, all others as they are.
  function edges(m, settings) {
    return m.factors.flatMap((factor, j) => (factor.line ? edgesAlong(m, settings, j) : []));
  }

  function edgesAlong(m, settings, j) {
    const { low, high, count } = m.factors[j].line;
    const step = (high - low) / (count - 1);
    const places = Array.from({ length: count }, (_, i) => (i < count - 1 ? i * step + low : high));
    const line = places.map((place) => settings.map((value, i) => (i === j ? place : value)));
    const inside = line.map((one) => shares(m, one).map((share) => Number(share >= m.goodFrom)));
    const away = places.map((place) => Math.abs(place - settings[j]));
    const start = away.indexOf(Math.min(...away));
    const ways = {
      low: Array.from({ length: start + 1 }, (_, i) => start - i),
      high: Array.from({ length: count - start }, (_, i) => start + i),
    };
    return Object.entries(ways).map(([side, way]) => edge(m, { j, side, way, line, inside }));
  }

  function edge(m, { j, side, way, line, inside }) {
    const ends = [];
    const first = [];
    for (let d = 0; d < m.draws; d++) {
      const out = way.findIndex((i) => !inside[i][d]);
      if (out < 0) {
        ends.push(side === "low" ? -Infinity : Infinity);
      } else {
        first.push(out);
        ends.push((line[way[out]][j] + line[way[Math.max(out - 1, 0)]][j]) / 2);
      }
    }
    ends.sort((a, b) => a - b);
    const [median, a, b, c, d] = m.ranks.map((r) => (Number.isFinite(ends[r]) ? ends[r] : null));
    let response = null;
    if (first.length) {
      first.sort((x, y) => x - y);
      const half = first.length / 2;
      const middle = (first[Math.ceil(half) - 1] + first[Math.floor(half)]) / 2;
      response = weakest(m, line[way[Math.floor(middle)]]);
    }
    return { factor: j, side, response, median, band50: [a, b], band90: [c, d] };
  }

  return { model, at, edges, weakest };
})();
if (typeof module !== "undefined") module.exports = liveNumbers;

// Reads a JSON list of {expr, times} from standard input and writes, for each,
// the states that the npm package opening_hours gives at those times (seconds
// since 1970), or the error it throws. The folder of the packages is the first
// argument; the zone is TZ. Holidays are those of Bavaria.
const Hours = require(process.argv[2] + "/opening_hours");
const place = { lat: "48.1", lon: "11.5", address: { country_code: "de", country: "Deutschland", state: "Bayern" } };
const input = JSON.parse(require("fs").readFileSync(0, "utf8"));
const output = input.map(({ expr, times }) => {
  try {
    const hours = new Hours(expr, place, { mode: 0, locale: "en" });
    return {
      states: times.map((t) => {
        const at = new Date(t * 1000);
        const day = new Date(at.getFullYear(), at.getMonth(), at.getDate());
        const next = new Date(at.getFullYear(), at.getMonth(), at.getDate() + 1);
        const here = hours.getOpenIntervals(day, next).find(([from, to]) => from <= at && at < to);
        if (!here) return 0;
        return here[2] ? 2 : 1;
      }),
    };
  } catch (e) {
    return { error: String(e) };
  }
});
process.stdout.write(JSON.stringify(output));

// Starts Debian's chromium for the checks of the page.
import { chromium } from "playwright-core";

const quiet = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];

export const launch = () => chromium.launch({ executablePath: process.env.AMPLEWAY_CHROMIUM || "/usr/bin/chromium", args: quiet });

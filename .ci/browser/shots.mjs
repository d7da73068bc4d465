// Takes pictures of the page and the sheet for people to look at:
// node shots.mjs http://127.0.0.1:8765/ OUT-FOLDER
import { launch } from "./browser.mjs";

const [base, out] = process.argv.slice(2);
const browser = await launch();
for (const scheme of ["light", "dark"]) {
  for (const width of [1280, 360]) {
    const page = await browser.newPage({ viewport: { width, height: 800 }, colorScheme: scheme });
    await page.goto(base);
    await page.screenshot({ path: `${out}/page-${width}-${scheme}.png`, fullPage: true });
    await page.close();
  }
}
await browser.close();

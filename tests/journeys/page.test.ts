import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type RunningService, startService, systemPart } from '../support/running-service.js';

const chromium = systemPart('chromium', 'chromium');

describe.skipIf(!chromium)('the page of a site in a browser', () => {
  let service: RunningService;
  beforeAll(async () => {
    service = await startService();
  }, 90_000);
  afterAll(() => service?.stop());

  test('draws all layers from our own tiles, asks nothing of anybody else, and says the cautions', async () => {
    const { chromium: browserType } = await import('playwright-core');
    const browser = await browserType.launch({
      executablePath: '/usr/bin/chromium',
      args: [
        '--no-sandbox',
        '--use-angle=swiftshader',
        '--enable-unsafe-swiftshader',
        '--disable-quic',
        '--no-first-run',
        '--disable-background-networking',
        '--disable-component-update',
        '--disable-sync',
      ],
    });
    try {
      const page = await browser.newPage({ viewport: { width: 1200, height: 900 } });
      const outside: string[] = [];
      const failures: string[] = [];
      page.on('request', (request) => {
        const url = request.url();
        if (!url.startsWith(service.url) && !/^(data|blob):/.test(url)) outside.push(url);
      });
      page.on('pageerror', (error) => failures.push(error.message));
      page.on('console', (message) => {
        if (message.type() === 'error') failures.push(message.text());
      });
      page.on('response', (response) => {
        if (response.status() >= 400) failures.push(`${response.status()} ${response.url()}`);
      });
      await page.goto(`${service.url}/sites/tarn-ledge`);
      await page.waitForSelector('#map[data-ready]', { timeout: 120_000 });
      expect(await page.getAttribute('#map', 'data-failed')).toBeNull();
      expect(Number(await page.getAttribute('#map', 'data-drawn'))).toBeGreaterThan(3500);
      // the hidden layers are drawn too once their word is clicked
      for (const layer of ['levels', 'grid-nodes', 'refits', 'contexts', 'control-points']) {
        await page.click(`[data-layer="${layer}"] button`);
      }
      await page.waitForSelector('#map[data-ready]', { timeout: 120_000 });
      const text = (await page.textContent('body')) ?? '';
      for (const word of ['Law.', 'Location.', 'Ordnance.', 'Human remains.', 'Navigation.', 'Questions'])
        expect(text).toContain(word);
      for (const id of ['nearest-neighbour', 'kernel-density', 'hull-scatter']) expect(text).toContain(id);
      expect(outside).toEqual([]);
      expect(failures).toEqual([]);
    } finally {
      await browser.close();
    }
  }, 300_000);
});

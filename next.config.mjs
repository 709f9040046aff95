/** @type {import('next').NextConfig} */
export default {
  serverExternalPackages: [
    'tinypool',
    'heic-decode',
    'exifr',
    'pino',
    '@prisma/adapter-better-sqlite3',
    'better-sqlite3',
  ],
  poweredByHeader: false,
  // Types are checked once, by `npm run check`, over the tests as well.
  typescript: { ignoreBuildErrors: true },
};

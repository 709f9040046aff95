import type { MetadataRoute } from 'next';

/** What a phone needs to put the diary on its home screen. */
export default function manifest(): MetadataRoute.Manifest {
  return {
    name: 'Swathbook',
    short_name: 'Swathbook',
    description: 'A visual trial diary for lawn sprays.',
    start_url: '/',
    display: 'standalone',
    background_color: '#faf8f2',
    theme_color: '#1d5a45',
    icons: [
      { src: '/icon-192.png', sizes: '192x192', type: 'image/png' },
      { src: '/icon-512.png', sizes: '512x512', type: 'image/png' },
      { src: '/icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
    ],
    shortcuts: [
      { name: 'Take photos', url: '/capture' },
      { name: 'Plan a spray', url: '/plan/new' },
    ],
  };
}

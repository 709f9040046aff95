'use client';
import { useRouter } from 'next/navigation';
import { useEffect } from 'react';

/** Work that has just begun is often done within seconds; what takes longer is not asked for so often. */
const SOON_MS = 1000;
const LATER_MS = 3000;
const SOON_LOOKS = 20;

/** While work goes on elsewhere: looks again every second or three, and says so. */
export function LookAgain({ children }: { children: string }) {
  const router = useRouter();
  useEffect(() => {
    let looks = 0;
    let timer: ReturnType<typeof setTimeout>;
    const look = () => {
      router.refresh();
      timer = setTimeout(look, ++looks < SOON_LOOKS ? SOON_MS : LATER_MS);
    };
    timer = setTimeout(look, SOON_MS);
    return () => clearTimeout(timer);
  }, [router]);
  return (
    <p className="notice notice-good" role="status">
      {children}
    </p>
  );
}

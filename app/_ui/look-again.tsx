'use client';
import { useRouter } from 'next/navigation';
import { useEffect } from 'react';

/** While work goes on elsewhere: looks again every two seconds, and says so. */
export function LookAgain({ children }: { children: string }) {
  const router = useRouter();
  useEffect(() => {
    const timer = setInterval(() => router.refresh(), 2000);
    return () => clearInterval(timer);
  }, [router]);
  return (
    <p className="notice notice-good" role="status">
      {children}
    </p>
  );
}
